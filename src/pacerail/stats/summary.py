"""All figures of a segment."""

from __future__ import annotations

from pacerail.figure import Figure
from pacerail.record import TimingRecord
from pacerail.series import FrameSeries
from pacerail.stats.figures import DEFINITIONS, Definition
from pacerail.stats.segment import NotMeasurableError, Segment


def summarise(
    record: TimingRecord,
    series: FrameSeries,
    first_refresh: int = 0,
    end_refresh: int | None = None,
) -> tuple[Figure, ...]:
    """Every figure of refreshes [first_refresh, end_refresh), in the order of the table.

    A figure without a value says ``not measurable: <reason>`` in its place.
    Raises UsageError when the segment is empty or leaves the capture.
    """
    end = record.refreshes if end_refresh is None else end_refresh
    return segment_figures(Segment(record, series, first_refresh, end))


def segment_figures(segment: Segment) -> tuple[Figure, ...]:
    """The same of a segment that is already at hand."""
    return tuple(_figure(definition, segment) for definition in DEFINITIONS)


def _figure(definition: Definition, segment: Segment) -> Figure:
    try:
        value = definition.measure(segment)
    except NotMeasurableError as reason:
        value = f"not measurable: {reason}"
    return Figure(definition.key, value, definition.unit, definition.definition)
