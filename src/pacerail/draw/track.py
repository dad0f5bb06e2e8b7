"""One platform's timing, ready to be drawn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacerail.series import FrameSeries


@dataclass(frozen=True, eq=False)
class Track:
    """Figures per refresh, n of them, beside the frames they were made from.

    Raises ValueError when a column has another length than the series has refreshes.
    """

    label: str
    series: FrameSeries
    frame_rate_fps: NDArray[np.float64]
    """(n,) rolling frame rate; NaN where it is not measurable."""
    frame_time_ms: NDArray[np.float64]
    """(n,) frame time of the frame on screen; NaN where there is none."""
    late_frames: NDArray[np.int64]
    """(n,) late frames so far."""
    torn_share: NDArray[np.float64]
    """(n,) torn flips so far over flips so far, 0 to 1; NaN before the first flip."""

    def __post_init__(self) -> None:
        for name in ("frame_rate_fps", "frame_time_ms", "late_frames", "torn_share"):
            if len(getattr(self, name)) != self.series.refreshes:
                raise ValueError(f"{name} must have one value per refresh of the series")
