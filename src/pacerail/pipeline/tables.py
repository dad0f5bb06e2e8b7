"""From a record to its tables."""

from __future__ import annotations

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


def table_of(
    record: TimingRecord, name: str, settings: SeriesSettings, first_refresh: int, end_refresh: int
) -> Table:
    """The table of that name over refreshes [first_refresh, end_refresh)."""
    if name == "refreshes":
        return refreshes_table(record, first_refresh, end_refresh)
    if name == "rates":
        rates = rates_of(record, settings)
        return rates_table(
            rates.series, rates.frame_rate_fps, rates.frame_time_ms, first_refresh, end_refresh
        )
    if name == "frames":
        series = frame_series(record, target_fps=settings.target_fps)
        return frames_table(series, first_refresh, end_refresh)
    return summary_table(figures_of(record, settings, first_refresh, end_refresh))


def figures_of(
    record: TimingRecord,
    settings: SeriesSettings = DEFAULTS,
    first_refresh: int = 0,
    end_refresh: int | None = None,
) -> tuple[Figure, ...]:
    """Every figure of refreshes [first_refresh, end_refresh)."""
    series = frame_series(record, target_fps=settings.target_fps)
    return summarise(record, series, first_refresh, end_refresh)
