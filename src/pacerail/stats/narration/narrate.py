"""All that may be said about a segment."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from pacerail.figure import Fact
from pacerail.record import TimingRecord
from pacerail.series import FrameSeries
from pacerail.stats.narration import delivery, pace
from pacerail.stats.narration.told import Told
from pacerail.stats.segment import Segment

_CHAPTERS: tuple[Callable[[Told], Iterator[Fact]], ...] = (
    delivery.uncertainty,
    delivery.extent,
    pace.frame_rate,
    pace.late_frames,
    pace.slowest_frames,
    pace.longest_frame,
    pace.stalls,
    pace.holds,
    pace.cadence,
    delivery.tears,
    delivery.still_spans,
    delivery.capture_faults,
    delivery.notes,
)

_CHAPTERS_OF_DOUBT = (delivery.guesswork, delivery.capture_faults, delivery.notes)
"""Where figures would be guesses, none is told."""


def narrate(
    record: TimingRecord,
    series: FrameSeries,
    first_refresh: int = 0,
    end_refresh: int | None = None,
) -> tuple[Fact, ...]:
    """Facts about refreshes [first_refresh, end_refresh), in the order they are told.

    Raises UsageError when the segment is empty or leaves the capture.
    """
    end = record.refreshes if end_refresh is None else end_refresh
    told = Told(Segment(record, series, first_refresh, end))
    chapters = _CHAPTERS_OF_DOUBT if record.is_guesswork(first_refresh, end) else _CHAPTERS
    return tuple(fact for chapter in chapters for fact in chapter(told))
