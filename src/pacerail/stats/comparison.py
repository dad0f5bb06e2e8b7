"""Two segments side by side: which figures differ, and whether the footage says so."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from pacerail.figure import Difference
from pacerail.stats import measures
from pacerail.stats.intervals import Interval, difference_interval
from pacerail.stats.pace import late_limit_ms
from pacerail.stats.resampling import ratio_interval
from pacerail.stats.segment import NotMeasurableError, Segment
from pacerail.stats.summary import segment_figures

# Limits that differ by less are one: displays of 60 and of 59.94 Hz are 1 in 1001 apart.
_SAME_LIMIT = 1.0 / 500.0


def compare_segments(first: Segment, second: Segment) -> tuple[Difference, ...]:
    """Every figure of the table in both segments, with the difference of numbers.

    Mean frame rate, late share and torn share, which are sums over sums, also get a 95 %
    interval of the difference: the block-bootstrap intervals of the two sides, joined as
    in Newcombe, Statistics in Medicine 17, 1998, p. 873, method 10. A share's interval is
    never taken narrower than Clopper-Pearson, so that a sample without a single case does
    not seem certain. Late shares have no interval where frames are late beyond different
    frame times: they say nothing about each other then.
    """
    result = []
    for one, other in zip(segment_figures(first), segment_figures(second), strict=True):
        difference: float | str = ""
        lower: float | str = ""
        upper: float | str = ""
        if not isinstance(one.value, str) and not isinstance(other.value, str):
            difference = one.value - other.value
            if one.key in _INTERVALS:
                lower, upper = _bounds(one.key, (one.value, first), (other.value, second))
        result.append(
            Difference(
                one.key,
                one.unit,
                one.definition,
                one.value,
                other.value,
                difference,
                lower,
                upper,
            )
        )
    return tuple(result)


def are_late_alike(first: Segment, second: Segment) -> bool:
    """True where a frame of either is late beyond the same frame time.

    Targets of their own and displays of other refresh rates make it differ.
    """
    ratio = late_limit_ms(first.series) / late_limit_ms(second.series)
    return abs(ratio - 1.0) < _SAME_LIMIT


def _bounds(
    key: str, one: tuple[float, Segment], other: tuple[float, Segment]
) -> tuple[float | str, float | str]:
    """Interval of the difference of a figure, or why there is none."""
    (value, first), (other_value, second) = one, other
    try:
        if key == "late_share" and not are_late_alike(first, second):
            raise NotMeasurableError("the two are late beyond different frame times")
        interval_of = _INTERVALS[key]
        return difference_interval((value, interval_of(first)), (other_value, interval_of(second)))
    except NotMeasurableError as reason:
        return (f"not measurable: {reason}",) * 2


def _mean_frame_rate(segment: Segment) -> Interval:
    refreshes = np.arange(segment.first_refresh, segment.end_refresh + 1)
    edges = refreshes / float(segment.series.refresh_hz)
    frames = segment.clock.frames_between(edges[:-1], edges[1:])
    measured = segment.clock.measured_between(edges[:-1], edges[1:])
    return ratio_interval(frames, measured, float(segment.series.refresh_hz))


def _late_share(segment: Segment) -> Interval:
    return _share(segment, segment.late, segment.frames, measures.interval_of_late_share(segment))


def _torn_share(segment: Segment) -> Interval:
    return _share(segment, segment.torn, segment.flips, measures.interval_of_torn_share(segment))


def _share(
    segment: Segment, cases: NDArray[np.bool_], trials: NDArray[np.bool_], floor: Interval
) -> Interval:
    over, under = _per_refresh(segment, cases), _per_refresh(segment, trials)
    lower, upper = ratio_interval(over, under, float(segment.series.refresh_hz))
    return min(lower, floor[0]), max(upper, floor[1])


def _per_refresh(segment: Segment, spans: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Number of those spans that start in each refresh of the segment."""
    refresh = segment.series.refresh[spans] - segment.first_refresh
    return np.bincount(refresh, minlength=segment.refreshes).astype(np.float64)


_INTERVALS: dict[str, Callable[[Segment], Interval]] = {
    "mean_frame_rate_fps": _mean_frame_rate,
    "late_share": _late_share,
    "torn_share": _torn_share,
}
