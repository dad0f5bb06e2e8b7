"""One segment of a capture, with what its figures share worked out once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pacerail.errors import UsageError
from pacerail.record import TimingRecord, Verdict
from pacerail.series import FrameSeries, SpanKind
from pacerail.stats.clock import FrameClock, frame_clock
from pacerail.stats.pace import is_late, missed_refreshes


class NotMeasurableError(ValueError):
    """A figure has no value in a segment; the message says why."""


@dataclass(frozen=True, eq=False)
class Segment:
    """Refreshes [first_refresh, end_refresh) of a capture.

    A frame belongs to the segment that its flip falls in, so counts over adjoining
    segments add up. Time is shared out exactly: a span that reaches across the border
    gives each side its part.
    """

    record: TimingRecord
    series: FrameSeries
    first_refresh: int
    end_refresh: int

    def __post_init__(self) -> None:
        if not 0 <= self.first_refresh < self.end_refresh <= self.record.refreshes:
            raise UsageError(
                f"segment must lie in refreshes 0 to {self.record.refreshes} and hold one or "
                f"more, got {self.first_refresh} to {self.end_refresh}; choose other times"
            )

    @property
    def refreshes(self) -> int:
        """Number of refreshes."""
        return self.end_refresh - self.first_refresh

    @property
    def duration_s(self) -> float:
        """Length in seconds."""
        return float(self.refreshes / self.series.refresh_hz)

    @property
    def start_s(self) -> float:
        """Moment at which the segment starts."""
        return self.first_refresh / float(self.series.refresh_hz)

    @property
    def end_s(self) -> float:
        """Moment at which the segment ends."""
        return self.end_refresh / float(self.series.refresh_hz)

    @cached_property
    def clock(self) -> FrameClock:
        """Counts frames and measured time of the capture."""
        return frame_clock(self.series)

    @cached_property
    def clock_with_stills(self) -> FrameClock:
        """The same with still spans between two flips counted as frames."""
        return frame_clock(self.series, with_stills=True)

    @cached_property
    def overlap_s(self) -> NDArray[np.float64]:
        """(m,) seconds of every span of the capture that lie in the segment."""
        end = np.minimum(self.series.end_s, self.end_s)
        start = np.maximum(self.series.start_s, self.start_s)
        result: NDArray[np.float64] = np.maximum(end - start, 0.0)
        return result

    @cached_property
    def starts_inside(self) -> NDArray[np.bool_]:
        """(m,) True for spans of the capture that start in the segment."""
        refresh = self.series.refresh
        result: NDArray[np.bool_] = (refresh >= self.first_refresh) & (refresh < self.end_refresh)
        return result

    @cached_property
    def flips(self) -> NDArray[np.bool_]:
        """(m,) True for spans that start with a flip in the segment."""
        result: NDArray[np.bool_] = self.starts_inside & self.series.flipped
        return result

    @cached_property
    def frames(self) -> NDArray[np.bool_]:
        """(m,) True for frames of known length, still spans left out."""
        result: NDArray[np.bool_] = self.starts_inside & (self.series.kind == SpanKind.FRAME)
        return result

    @cached_property
    def late_of_capture(self) -> NDArray[np.bool_]:
        """(m,) True for late frames of the whole capture."""
        return is_late(self.series)

    @cached_property
    def late(self) -> NDArray[np.bool_]:
        """(m,) True for late frames of the segment."""
        result: NDArray[np.bool_] = self.frames & self.late_of_capture
        return result

    @cached_property
    def torn(self) -> NDArray[np.bool_]:
        """(m,) True for spans that start with a torn flip in the segment."""
        result: NDArray[np.bool_] = self.flips & (self.series.tear_row > 0)
        return result

    @cached_property
    def missed(self) -> int:
        """Refreshes that the late frames of the segment overran their target by."""
        return int(missed_refreshes(self.series)[self.frames].sum())

    @cached_property
    def ascending_ms(self) -> NDArray[np.float64]:
        """Frame times in ms, shortest first. Raises NotMeasurableError without frames."""
        if not self.frames.any():
            raise NotMeasurableError(
                "no flip in the segment is followed by another within the still limit"
            )
        return np.sort(self.series.frame_time_ms[self.frames])

    def starts_of(self, kind: SpanKind) -> int:
        """Number of spans of that kind that start in the segment."""
        return int((self.starts_inside & (self.series.kind == kind)).sum())

    def verdicts(self, verdict: Verdict) -> int:
        """Number of refreshes with that verdict."""
        chosen = self.record.verdict[self.first_refresh : self.end_refresh]
        return int((chosen == verdict).sum())

    @property
    def uncertain(self) -> int:
        """Number of refreshes with an uncertain verdict."""
        return int(self.record.uncertain[self.first_refresh : self.end_refresh].sum())

    def time_in(self, kind: SpanKind) -> float:
        """Seconds of the segment in spans of that kind."""
        return float(self.overlap_s[self.series.kind == kind].sum())
