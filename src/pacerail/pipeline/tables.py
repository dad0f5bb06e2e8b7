"""From a record to its tables."""

from __future__ import annotations

from typing import TextIO

from pacerail.export.csv_text import write_csv
from pacerail.export.tables import (
    Table,
    frames_table,
    rates_table,
    refreshes_table,
    summary_table,
)
from pacerail.figure import Figure
from pacerail.pipeline.tracks import DEFAULTS, SeriesSettings, rates_of
from pacerail.record import TimingRecord
from pacerail.stats.frames import frame_series
from pacerail.stats.summary import summarise


def write_table(
    record: TimingRecord,
    name: str,
    settings: SeriesSettings,
    first_refresh: int,
    end_refresh: int,
    stream: TextIO,
) -> None:
    """Write one of TABLES over refreshes [first_refresh, end_refresh) as CSV."""
    write_csv(TABLES[name](record, settings, first_refresh, end_refresh), stream)


def figures_of(
    record: TimingRecord,
    settings: SeriesSettings = DEFAULTS,
    first_refresh: int = 0,
    end_refresh: int | None = None,
) -> tuple[Figure, ...]:
    """Every figure of refreshes [first_refresh, end_refresh)."""
    series = frame_series(record, target_fps=settings.target_fps)
    return summarise(record, series, first_refresh, end_refresh)


def _refreshes(record: TimingRecord, _: SeriesSettings, first: int, end: int) -> Table:
    return refreshes_table(record, first, end)


def _frames(record: TimingRecord, settings: SeriesSettings, first: int, end: int) -> Table:
    return frames_table(frame_series(record, target_fps=settings.target_fps), first, end)


def _rates(record: TimingRecord, settings: SeriesSettings, first: int, end: int) -> Table:
    rates = rates_of(record, settings)
    return rates_table(rates.series, rates.frame_rate_fps, rates.frame_time_ms, first, end)


def _summary(record: TimingRecord, settings: SeriesSettings, first: int, end: int) -> Table:
    return summary_table(figures_of(record, settings, first, end))


TABLES = {"refreshes": _refreshes, "frames": _frames, "rates": _rates, "summary": _summary}
