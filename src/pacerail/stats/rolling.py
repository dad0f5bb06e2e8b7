"""Series over refreshes: the rolling frame rate and the frame time on screen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacerail.errors import UsageError
from pacerail.series import FrameSeries, SpanKind
from pacerail.stats.clock import frame_clock

WINDOW_S = 1.0
# A window says something when frames of known length fill at least this share of it, and a
# whole refresh: a frame of which less was seen may be of any rate.
MEASURED_SHARE = 0.5


@dataclass(frozen=True, eq=False)
class RollingRate:
    """Frame rate over a moving window, one value for each refresh; arrays are read-only."""

    window_s: float
    centred: bool
    frame_rate_fps: NDArray[np.float64]
    """(n,) frames per second, NaN where not measurable."""
    partial: NDArray[np.bool_]
    """(n,) True where the capture's ends, a still span or a fault shorten the window."""

    def __post_init__(self) -> None:
        self.frame_rate_fps.flags.writeable = False
        self.partial.flags.writeable = False


def rolling_frame_rate(
    series: FrameSeries, *, window_s: float = WINDOW_S, centred: bool = False
) -> RollingRate:
    """Frames in the window, counted in fractions of frame times, over its measured time.

    The window of refresh i ends when the refresh ends (trailing) or is centred on its
    middle. It never reaches across a still span or a capture fault: there it is cut
    short, and inside them there is no frame rate. What is left of it must be filled to
    half or more, and for a whole refresh, with frames of known length. Exact at both
    edges, so a steady 59.94 frames a second read 59.94 whatever the phase.
    Raises UsageError for a window shorter than two refreshes.
    """
    hz = float(series.refresh_hz)
    if not window_s * hz >= 2.0 - 1e-9:
        raise UsageError(
            f"rolling window must be at least 2 refreshes, got {window_s * 1000:g} ms; "
            f"give {2000 / hz:.4g} ms or more"
        )
    moment = np.arange(series.refreshes, dtype=np.float64)
    if centred:
        at = (moment + 0.5) / hz
        wanted_start, wanted_end = at - window_s / 2, at + window_s / 2
        cut = _cut_spans(series, at, "right")
    else:
        at = (moment + 1.0) / hz
        wanted_start, wanted_end = at - window_s, at
        cut = _cut_spans(series, at, "left")
    start = np.maximum(wanted_start, cut.previous_end_s)
    end = np.minimum(wanted_end, cut.next_start_s)

    clock = frame_clock(series)
    measured = clock.measured_between(start, end)
    least_s = np.maximum(MEASURED_SHARE * (end - start), 1.0 / hz)
    enough = ~cut.inside & (measured >= least_s - 1e-9)
    rate = np.full(series.refreshes, np.nan)
    np.divide(clock.frames_between(start, end), measured, out=rate, where=enough)
    partial = (end - start) < window_s - 1e-9
    return RollingRate(window_s, centred, rate, partial)


def frame_time_on_screen(series: FrameSeries) -> NDArray[np.float64]:
    """Frame time in ms of the frame that each refresh starts with, shape (n,).

    NaN where that is a still span, a fault or a frame of unknown length. A torn refresh
    starts with the older of its frames.
    """
    at = np.arange(series.refreshes) / float(series.refresh_hz)
    span = np.searchsorted(series.start_s, at, side="right") - 1
    known = np.where(series.kind == SpanKind.FRAME, series.frame_time_ms, np.nan)
    result: NDArray[np.float64] = known[span]
    return result


@dataclass(frozen=True, eq=False)
class _Cuts:
    """Where the nearest still spans and faults lie, seen from some moments."""

    inside: NDArray[np.bool_]
    previous_end_s: NDArray[np.float64]
    next_start_s: NDArray[np.float64]


def _cut_spans(series: FrameSeries, at: NDArray[np.float64], side: str) -> _Cuts:
    """Still spans and faults around `at`; side "left" asks just before each moment."""
    is_cut = (series.kind == SpanKind.STILL) | (series.kind == SpanKind.FAULT)
    starts = np.append(series.start_s[is_cut], series.end_s[-1])
    ends = np.insert(series.end_s[is_cut], 0, 0.0)
    if side == "left":
        index = np.searchsorted(starts[:-1], at, side="left")
    else:
        index = np.searchsorted(starts[:-1], at, side="right")
    inside = (at <= ends[index]) if side == "left" else (at < ends[index])
    return _Cuts(inside & (index > 0), ends[index], starts[index])
