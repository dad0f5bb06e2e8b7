"""The formulas behind the table of figures, one function each.

Every function takes a segment and raises NotMeasurableError where the segment does not
hold what the figure takes.
"""

from __future__ import annotations

import numpy as np

from pacerail.series import SpanKind
from pacerail.stats.intervals import clopper_pearson, rule_of_three
from pacerail.stats.quantiles import quantile_of_sorted
from pacerail.stats.segment import NotMeasurableError, Segment


def mean_frame_rate(segment: Segment, *, with_stills: bool = False) -> float:
    """Frames, counted in fractions of frame times, over the time measured, in 1/s."""
    clock = segment.clock_with_stills if with_stills else segment.clock
    measured = float(clock.measured_between(segment.start_s, segment.end_s))
    if measured <= 0.0:
        raise NotMeasurableError("no part of the segment belongs to a frame of known length")
    return float(clock.frames_between(segment.start_s, segment.end_s)) / measured


def frame_time_quantile(segment: Segment, share: float) -> float:
    """Quantile over frames, type 1 of Hyndman and Fan, in ms."""
    return quantile_of_sorted(segment.ascending_ms, share)


def frame_time_quantile_by_time(segment: Segment, share: float) -> float:
    """Quantile over screen time: each frame weighs as much as it lasts, in ms."""
    return quantile_of_sorted(segment.ascending_ms, share, weights=segment.ascending_ms)


def frame_rate_at_quantile(segment: Segment, share: float) -> float:
    """Frame rate that `share` of the frames reach, 1000 over their quantile, in 1/s.

    With a share of 0.95 this is the "95 % frame rate floor", the bottom 5 % of frame rates,
    that Liu, Kuwahara, Scovell and Claypool found to predict how players rate a game ("The
    effects of frame rate variation on game player quality of experience", CHI 2023).
    """
    return 1000.0 / frame_time_quantile(segment, share)


def slowest_frames_rate(segment: Segment, share: float) -> float:
    """Mean frame rate of the slowest `share` of frames, at least one of them, in 1/s."""
    slowest = segment.ascending_ms[-_share_of(len(segment.ascending_ms), share) :]
    return 1000.0 / float(slowest.mean())


def mean_frame_time(segment: Segment) -> float:
    """Arithmetic mean of frame times, in ms."""
    return float(segment.ascending_ms.mean())


def median_frame_time(segment: Segment) -> float:
    """Median of frame times, the mean of the middle two where their number is even, in ms."""
    return float(np.median(segment.ascending_ms))


def standard_deviation(segment: Segment) -> float:
    """Sample standard deviation (divisor m - 1) of frame times, in ms."""
    if len(segment.ascending_ms) < 2:
        raise NotMeasurableError("a deviation takes two or more frames of known length")
    return float(segment.ascending_ms.std(ddof=1))


def successive_difference(segment: Segment) -> float:
    """Root mean square of the differences between successive frame times, in ms.

    Differences are taken between frames that follow each other without a cut. Source:
    von Neumann, Kent, Bellinson and Hart, "The mean square successive difference",
    Annals of Mathematical Statistics 12, 1941, p. 153.
    """
    pair = segment.frames[:-1] & segment.frames[1:]
    if not pair.any():
        raise NotMeasurableError("no two frames of known length follow each other")
    difference = np.diff(segment.series.frame_time_ms)[pair]
    return float(np.sqrt(np.mean(difference**2)))


def on_pace_time_share(segment: Segment) -> float:
    """Share of the measured time that belongs to frames on pace."""
    measured = segment.time_in(SpanKind.FRAME)
    if measured <= 0.0:
        raise NotMeasurableError("no part of the segment belongs to a frame of known length")
    late = float(segment.overlap_s[segment.late_of_capture].sum())
    return 1.0 - late / measured


def late_share(segment: Segment) -> float:
    """Late frames over frames of known length."""
    return int(segment.late.sum()) / _frames(segment)


def torn_share(segment: Segment) -> float:
    """Torn flips over flips."""
    return int(segment.torn.sum()) / _flips(segment)


def longest_frame_start(segment: Segment) -> float:
    """Moment in s at which the first of the longest frames came in."""
    frames = np.flatnonzero(segment.frames)
    longest = segment.ascending_ms[-1]
    same = segment.series.frame_time_ms[frames] >= longest - 1e-6
    return float(segment.series.start_s[frames[same.argmax()]])


def interval_of_late_share(segment: Segment) -> tuple[float, float]:
    """Clopper-Pearson 95 % interval of the late share."""
    return clopper_pearson(int(segment.late.sum()), _frames(segment))


def interval_of_torn_share(segment: Segment) -> tuple[float, float]:
    """Clopper-Pearson 95 % interval of the torn share."""
    return clopper_pearson(int(segment.torn.sum()), _flips(segment))


def late_share_bound_without_misses(segment: Segment) -> float:
    """Rule-of-three bound of the late share, for a segment without a late frame."""
    frames = _frames(segment)
    if segment.late.any():
        raise NotMeasurableError("the rule of three is for segments without a late frame")
    return rule_of_three(frames)


def torn_share_bound_without_tears(segment: Segment) -> float:
    """Rule-of-three bound of the torn share, for a segment without a torn flip."""
    flips = _flips(segment)
    if segment.torn.any():
        raise NotMeasurableError("the rule of three is for segments without a torn flip")
    return rule_of_three(flips)


def _share_of(count: int, share: float) -> int:
    return max(int(np.ceil(count * share - 1e-9)), 1)


def _frames(segment: Segment) -> int:
    return len(segment.ascending_ms)


def _flips(segment: Segment) -> int:
    flips = int(segment.flips.sum())
    if not flips:
        raise NotMeasurableError("no flip falls in the segment")
    return flips
