"""The table of figures: key, unit, definition in words, and the one function for each.

Facts, CSV, documents and readouts all take their figures from here; nothing computes a
figure a second time.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from pacerail.record import Verdict
from pacerail.series import SpanKind
from pacerail.stats import cadence, measures
from pacerail.stats.segment import Segment


@dataclass(frozen=True)
class Definition:
    """One row of the table of figures."""

    key: str
    unit: str
    definition: str
    measure: Callable[[Segment], int | float | str]
    """Raises NotMeasurableError where the segment does not hold what it takes."""


_QUANTILES = {"p1": 0.01, "p50": 0.5, "p95": 0.95, "p99": 0.99, "p99_9": 0.999}


def _quantile(name: str, share: float) -> Definition:
    percent = f"{share * 100:g}"
    return Definition(
        f"frame_time_{name}_ms",
        "ms",
        f"P{percent} over frames: the shortest frame time that at least {percent} % of the "
        "frames do not exceed (Hyndman-Fan type 1)",
        lambda segment: measures.frame_time_quantile(segment, share),
    )


def _quantile_of_time(name: str, share: float) -> Definition:
    percent = f"{share * 100:g}"
    return Definition(
        f"frame_time_by_time_{name}_ms",
        "ms",
        f"P{percent} over time: the shortest frame time such that frames no longer than it "
        f"fill at least {percent} % of the measured time (Hyndman-Fan type 1, each frame "
        "weighted by its frame time)",
        lambda segment: measures.frame_time_quantile_by_time(segment, share),
    )


_EXTENT = (
    Definition("duration_s", "s", "length of the segment", lambda s: s.duration_s),
    Definition(
        "refreshes", "", "refreshes in the segment, lost ones included", lambda s: s.refreshes
    ),
    Definition("flips", "", "flips in the segment, torn or clean", lambda s: int(s.flips.sum())),
    Definition(
        "frames",
        "",
        "frames of known length whose flip falls in the segment, still spans left out",
        lambda s: int(s.frames.sum()),
    ),
    Definition(
        "measured_time_s",
        "s",
        "time in the segment that belongs to frames of known length; still spans, capture "
        "faults and frames without a known start or end are left out",
        lambda s: s.time_in(SpanKind.FRAME),
    ),
    Definition(
        "target_frame_time_ms",
        "ms",
        "frame time that counts as on pace: given by the user, or inferred as the steady pace "
        "that the capture holds longest",
        lambda s: s.series.target_ms,
    ),
    Definition(
        "target_origin",
        "",
        "whether the target frame time was given or inferred",
        lambda s: "inferred" if s.series.target_is_inferred else "given",
    ),
)

_RATE = (
    Definition(
        "mean_frame_rate_fps",
        "fps",
        "frames in the segment, counted by the fraction of each frame time that lies inside, "
        "over the measured time",
        measures.mean_frame_rate,
    ),
    Definition(
        "mean_frame_rate_with_stills_fps",
        "fps",
        "the same with still spans between two flips counted as frames",
        lambda s: measures.mean_frame_rate(s, with_stills=True),
    ),
    Definition(
        "one_percent_low_by_quantile_fps",
        "fps",
        "1 % low in the sense of a quantile: 1000 / P99 of frame time over frames; 99 % of the "
        "frames came at this rate or faster",
        lambda s: measures.frame_rate_at_quantile(s, 0.99),
    ),
    Definition(
        "one_percent_low_by_mean_fps",
        "fps",
        "1 % low in the sense of a mean: number of the slowest 1 % of frames (rounded up) over "
        "the time they took; never above the quantile sense",
        lambda s: measures.slowest_frames_rate(s, 0.01),
    ),
    Definition(
        "frame_rate_floor_95_fps",
        "fps",
        "95 % frame-rate floor: 1000 / P95 of frame time over frames; 95 % of the frames came "
        "at this rate or faster",
        lambda s: measures.frame_rate_at_quantile(s, 0.95),
    ),
)

_FRAME_TIME = (
    Definition(
        "frame_time_mean_ms", "ms", "arithmetic mean of frame times", measures.mean_frame_time
    ),
    Definition(
        "frame_time_median_ms",
        "ms",
        "median of frame times, the mean of the middle two where their number is even",
        measures.median_frame_time,
    ),
    Definition(
        "frame_time_standard_deviation_ms",
        "ms",
        "sample standard deviation of frame times (divisor m - 1)",
        measures.standard_deviation,
    ),
    *(_quantile(name, share) for name, share in _QUANTILES.items()),
    *(_quantile_of_time(name, share) for name, share in _QUANTILES.items()),
    Definition("longest_frame_ms", "ms", "longest frame time", lambda s: float(s.ascending_ms[-1])),
    Definition(
        "longest_frame_start_s",
        "s",
        "flip of the longest frame, the first if several are as long",
        measures.longest_frame_start,
    ),
    Definition(
        "longest_hold_refreshes",
        "refreshes",
        "most refreshes between one flip and the next, still spans left out",
        cadence.longest_hold,
    ),
    Definition(
        "successive_difference_ms",
        "ms",
        "root mean square of the differences between successive frame times",
        measures.successive_difference,
    ),
)

_PACE = (
    Definition(
        "late_frames",
        "",
        "frames more than half a refresh beyond the target frame time",
        lambda s: int(s.late.sum()),
    ),
    Definition(
        "missed_refreshes",
        "refreshes",
        "refreshes by which late frames overran the target, each overrun rounded to a whole number",
        lambda s: s.missed,
    ),
    Definition(
        "on_pace_time_share",
        "",
        "share of the measured time that belongs to frames on pace",
        measures.on_pace_time_share,
    ),
    Definition("late_share", "", "late frames over frames", measures.late_share),
    Definition(
        "late_share_lower",
        "",
        "lower end of the 95 % Clopper-Pearson interval of the late share; refreshes are not "
        "independent, so the true doubt is at least this wide",
        lambda s: measures.interval_of_late_share(s)[0],
    ),
    Definition(
        "late_share_upper",
        "",
        "upper end of the same interval",
        lambda s: measures.interval_of_late_share(s)[1],
    ),
    Definition(
        "late_share_rule_of_three",
        "",
        "with no late frame among n: 3 / n, the upper 95 % bound of the late share",
        measures.late_share_bound_without_misses,
    ),
)

_CADENCE = (
    Definition(
        "hold_histogram",
        "",
        "refreshes from one flip to the next, with the number of frames held so long",
        cadence.hold_histogram,
    ),
    Definition(
        "hold_pattern",
        "",
        "repeating pattern of holds that fills the most time",
        cadence.hold_pattern,
    ),
    Definition(
        "hold_pattern_time_share",
        "",
        "confidence in the pattern: share of the measured time that follows it, lapses left out",
        cadence.hold_pattern_time_share,
    ),
)

_DELIVERY = (
    Definition("torn_flips", "", "flips in the middle of a refresh", lambda s: int(s.torn.sum())),
    Definition("torn_share", "", "torn flips over flips", measures.torn_share),
    Definition(
        "torn_share_lower",
        "",
        "lower end of the 95 % Clopper-Pearson interval of the torn share; refreshes are not "
        "independent, so the true doubt is at least this wide",
        lambda s: measures.interval_of_torn_share(s)[0],
    ),
    Definition(
        "torn_share_upper",
        "",
        "upper end of the same interval",
        lambda s: measures.interval_of_torn_share(s)[1],
    ),
    Definition(
        "torn_share_rule_of_three",
        "",
        "with no torn flip among n: 3 / n, the upper 95 % bound of the torn share",
        measures.torn_share_bound_without_tears,
    ),
    Definition(
        "still_spans",
        "",
        "still spans that begin in the segment",
        lambda s: s.starts_of(SpanKind.STILL),
    ),
    Definition(
        "still_time_s",
        "s",
        "time in the segment that belongs to still spans, whenever they began",
        lambda s: s.time_in(SpanKind.STILL),
    ),
    Definition(
        "capture_faults",
        "",
        "runs of lost refreshes that begin in the segment",
        lambda s: s.starts_of(SpanKind.FAULT),
    ),
    Definition(
        "lost_refreshes",
        "refreshes",
        "refreshes that the recording lost",
        lambda s: s.verdicts(Verdict.FAULT),
    ),
    Definition(
        "uncertain_verdicts",
        "refreshes",
        "refreshes whose verdict lies within the margin limit of the decision",
        lambda s: s.uncertain,
    ),
)

DEFINITIONS: tuple[Definition, ...] = (
    *_EXTENT,
    *_RATE,
    *_FRAME_TIME,
    *_PACE,
    *_CADENCE,
    *_DELIVERY,
)
