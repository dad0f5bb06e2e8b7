"""Tiles: one per span of screen time, as wide as it lasted and as high as its frame time.

An even pace is a level row of equal squares; area grows with the square of a delay. All
arithmetic is in strip coordinates: pixels along from refresh 0, pixels across from the
axis, before anything is drawn.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from pacerail.draw.scale import Scale
from pacerail.series import FrameSeries, SpanKind


class Pace(IntEnum):
    """How a frame time compares with the target."""

    ON_PACE = 0
    """At most half a refresh beyond the target (common practice, no published source)."""
    LATE = 1
    FAR_LATE = 2
    """More than half a refresh beyond twice the target (our own step)."""


@dataclass(frozen=True, eq=False)
class Tiles:
    """Columns of shape (m,), one entry per span of the series."""

    left: NDArray[np.int64]
    """Pixel at which the span starts."""
    right: NDArray[np.int64]
    """Pixel at which it ends, which is where the next one starts."""
    height: NDArray[np.int64]
    """Frame time in pixels, however large."""
    kind: NDArray[np.uint8]
    """SpanKind."""
    pace: NDArray[np.uint8]
    """Pace, meaningful for frames only."""
    slit: NDArray[np.float64]
    """Where the screen was cut, 0 at its top to 1 at its foot; NaN where it was not."""
    frame_time_ms: NDArray[np.float64]
    target_height: int
    """The target frame time in pixels."""

    def between(self, start: int, end: int) -> range:
        """Indexes of the tiles that touch pixels [start, end)."""
        first = int(np.searchsorted(self.right, start, side="right"))
        last = int(np.searchsorted(self.left, end, side="left"))
        return range(first, last)

    def longest(self, edges: NDArray[np.float64]) -> tuple[NDArray[np.int64], NDArray[np.uint8]]:
        """The longest frame that touches each column between pixels `edges` of the strip.

        edges : (c + 1,) increasing. Returns heights (c,), -1 where there is no frame, and
        their Pace (c,).
        """
        first = np.searchsorted(self.right, edges[:-1], side="right")
        last = np.maximum(np.searchsorted(self.left, edges[1:], side="left"), first + 1)
        is_frame = self.kind == SpanKind.FRAME
        # Two empty entries past the end serve the columns beyond the capture.
        height = np.append(np.where(is_frame, self.height, -1), [-1, -1])
        pace = np.append(np.where(is_frame, self.pace, 0), [0, 0]).astype(np.uint8)
        pairs = np.minimum(np.stack([first, last], axis=1).ravel(), len(height) - 1)
        return np.maximum.reduceat(height, pairs)[::2], np.maximum.reduceat(pace, pairs)[::2]


def lay_tiles(series: FrameSeries, scale: Scale) -> Tiles:
    """The tiles of a capture on a scale.

    The scale may be that of another refresh rate: spans lie by their seconds.
    """
    frame_time = series.frame_time_ms
    late_by = frame_time - series.target_ms
    half_refresh = 500.0 / float(series.refresh_hz)
    pace = (late_by > half_refresh).astype(np.uint8)
    pace[late_by > half_refresh + series.target_ms] = Pace.FAR_LATE
    torn = series.flipped & (series.tear_row > 0) & (series.kind == SpanKind.FRAME)
    return Tiles(
        left=scale.pixels(series.start_s * 1000.0),
        right=scale.pixels(series.end_s * 1000.0),
        height=scale.pixels(frame_time),
        kind=series.kind,
        pace=pace,
        slit=np.where(torn, series.tear_row / series.picture_height, np.nan),
        frame_time_ms=frame_time,
        target_height=int(scale.pixels(series.target_ms)),
    )
