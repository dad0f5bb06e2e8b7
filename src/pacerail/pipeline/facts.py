"""From a record to facts for a narration."""

from __future__ import annotations

from pathlib import Path

from pacerail.export.facts_text import facts_as_json, facts_as_markdown, facts_as_text
from pacerail.pipeline.tracks import SeriesSettings
from pacerail.record import TimingRecord
from pacerail.stats.frames import frame_series
from pacerail.stats.narration.narrate import narrate
from pacerail.stats.summary import summarise


def facts_text(
    record: TimingRecord,
    facts_format: str,
    settings: SeriesSettings,
    first_refresh: int,
    end_refresh: int,
) -> str:
    """Facts on refreshes [first_refresh, end_refresh) as ``text``, ``markdown`` or ``json``."""
    series = frame_series(record, target_fps=settings.target_fps)
    facts = narrate(record, series, first_refresh, end_refresh)
    if facts_format == "text":
        return facts_as_text(facts)
    figures = summarise(record, series, first_refresh, end_refresh)
    title = Path(record.source.name).stem
    written = facts_as_markdown if facts_format == "markdown" else facts_as_json
    return written(facts, figures, title)
