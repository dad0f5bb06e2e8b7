"""From a record to its tables, figures and markers."""

from __future__ import annotations

from typing import TextIO

from pacerail.export.csv_text import write_csv
from pacerail.export.markers import otio_text, write_webvtt
from pacerail.export.tables import (
    Table,
    cadence_table,
    definitions_table,
    differences_table,
    events_table,
    frames_table,
    rates_table,
    refreshes_table,
    summary_table,
    with_timecode,
)
from pacerail.figure import Event, Figure
from pacerail.pipeline.passage import Passage
from pacerail.pipeline.tracks import DEFAULTS, SeriesSettings, rates_of
from pacerail.record import TimingRecord
from pacerail.stats.cadence import cadence_runs
from pacerail.stats.comparison import compare_segments
from pacerail.stats.events import EVENT_DEFINITIONS, segment_events
from pacerail.stats.figures import DEFINITIONS
from pacerail.stats.frames import frame_series
from pacerail.stats.segment import NotMeasurableError, Segment
from pacerail.stats.summary import summarise
from pacerail.timecode import Timecode


def write_table(
    record: TimingRecord,
    name: str,
    settings: SeriesSettings,
    first_refresh: int,
    end_refresh: int,
    stream: TextIO,
    *,
    timecode: bool = False,
) -> None:
    """Write one of TABLES over refreshes [first_refresh, end_refresh) as CSV.

    timecode : add a column of labels, counted from the start timecode of the capture; only
        for tables whose rows are of a refresh.
    """
    table = TABLES[name](record, settings, first_refresh, end_refresh)
    if timecode:
        table = with_timecode(table, timecode_of(record))
    write_csv(table, stream)


def write_comparison(
    first: Passage, second: Passage, settings: SeriesSettings, stream: TextIO
) -> None:
    """Write every figure of both passages, with difference and interval, as CSV."""
    differences = compare_segments(first.segment(settings), second.segment(settings))
    write_csv(differences_table(differences, first.label, second.label), stream)


def figures_of(
    record: TimingRecord,
    settings: SeriesSettings = DEFAULTS,
    first_refresh: int = 0,
    end_refresh: int | None = None,
) -> tuple[Figure, ...]:
    """Every figure of refreshes [first_refresh, end_refresh)."""
    series = frame_series(record, target_fps=settings.target_fps)
    return summarise(record, series, first_refresh, end_refresh)


def write_markers(
    record: TimingRecord,
    markers_format: str,
    settings: SeriesSettings,
    first_refresh: int,
    end_refresh: int,
    stream: TextIO,
) -> None:
    """Write the events of refreshes [first_refresh, end_refresh) as ``webvtt`` or ``otio``."""
    events = _events(record, settings, first_refresh, end_refresh)
    if markers_format == "webvtt":
        write_webvtt(events, stream)
        return
    stream.write(
        otio_text(
            events,
            media=record.source.name,
            refresh_hz=record.refresh_hz,
            refreshes=record.refreshes,
            start_refresh=timecode_of(record).start,
        )
    )


def timecode_of(record: TimingRecord) -> Timecode:
    """How the capture counts; from label 0 where it carries no start timecode."""
    if record.start_timecode is None:
        return Timecode(record.refresh_hz)
    return Timecode.starting_at(record.start_timecode, record.refresh_hz)


def _events(
    record: TimingRecord, settings: SeriesSettings, first: int, end: int
) -> tuple[Event, ...]:
    series = frame_series(record, target_fps=settings.target_fps)
    return segment_events(Segment(record, series, first, end))


def _refreshes(record: TimingRecord, _: SeriesSettings, first: int, end: int) -> Table:
    return refreshes_table(record, first, end)


def _frames(record: TimingRecord, settings: SeriesSettings, first: int, end: int) -> Table:
    return frames_table(frame_series(record, target_fps=settings.target_fps), first, end)


def _rates(record: TimingRecord, settings: SeriesSettings, first: int, end: int) -> Table:
    rates = rates_of(record, settings)
    return rates_table(rates.series, rates.frame_rate_fps, rates.frame_time_ms, first, end)


def _summary(record: TimingRecord, settings: SeriesSettings, first: int, end: int) -> Table:
    return summary_table(figures_of(record, settings, first, end))


def _happened(record: TimingRecord, settings: SeriesSettings, first: int, end: int) -> Table:
    return events_table(_events(record, settings, first, end))


def _cadence(record: TimingRecord, settings: SeriesSettings, first: int, end: int) -> Table:
    """Without rows where the frames have no cadence."""
    series = frame_series(record, target_fps=settings.target_fps)
    try:
        return cadence_table(cadence_runs(Segment(record, series, first, end)))
    except NotMeasurableError:
        return cadence_table(())


def _definitions(_: TimingRecord, __: SeriesSettings, ___: int, ____: int) -> Table:
    figures = ((each.key, each.unit, each.definition) for each in DEFINITIONS)
    return definitions_table([*figures, *EVENT_DEFINITIONS])


TABLES = {
    "refreshes": _refreshes,
    "frames": _frames,
    "rates": _rates,
    "summary": _summary,
    "events": _happened,
    "cadence": _cadence,
    "definitions": _definitions,
}
