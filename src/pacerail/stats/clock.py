"""Counting frames by the fraction of each frame time that has passed.

A count of whole frames in a window jumps by one when the window moves; 59.94 frames a
second read as 60. Counting fractions makes the number of frames a continuous function of
time, piecewise linear between flips, so that any window has an exact frame rate and
adjoining windows add up.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pacerail.series import FrameSeries, SpanKind


@dataclass(frozen=True, eq=False)
class FrameClock:
    """Frames shown and time measured, both counted from the start of the capture."""

    moment_s: NDArray[np.float64]
    """(m+1,) ends of the spans, the first being 0."""
    frames: NDArray[np.float64]
    """(m+1,) whole frames shown up to each moment."""
    measured_s: NDArray[np.float64]
    """(m+1,) seconds of screen time up to each moment that belong to such frames."""

    def frames_between(self, start_s: ArrayLike, end_s: ArrayLike) -> NDArray[np.float64]:
        """Number of frames in [start_s, end_s), counted in fractions of frame times."""
        return self._growth(self.frames, start_s, end_s)

    def measured_between(self, start_s: ArrayLike, end_s: ArrayLike) -> NDArray[np.float64]:
        """Seconds in [start_s, end_s) that belong to frames of known length."""
        return self._growth(self.measured_s, start_s, end_s)

    def _growth(
        self, count: NDArray[np.float64], start_s: ArrayLike, end_s: ArrayLike
    ) -> NDArray[np.float64]:
        start, end = np.asarray(start_s, np.float64), np.asarray(end_s, np.float64)
        at_start, at_end = (np.interp(each, self.moment_s, count) for each in (start, end))
        return np.asarray(at_end - at_start, np.float64)


def frame_clock(series: FrameSeries, *, with_stills: bool = False) -> FrameClock:
    """The clock of a capture; still spans between two flips count as frames if asked."""
    counted = series.kind == SpanKind.FRAME
    if with_stills:
        counted = counted | ((series.kind == SpanKind.STILL) & length_is_known(series))
    length = np.where(counted, series.end_s - series.start_s, 0.0)
    return FrameClock(
        moment_s=np.append(series.start_s, series.end_s[-1]),
        frames=np.concatenate([[0.0], np.cumsum(counted, dtype=np.float64)]),
        measured_s=np.concatenate([[0.0], np.cumsum(length)]),
    )


def length_is_known(series: FrameSeries) -> NDArray[np.bool_]:
    """(m,) True for spans that start with a flip and end with the next one."""
    result: NDArray[np.bool_] = series.flipped & np.append(series.flipped[1:], False)
    return result
