"""A record's frames and figures, joined into what tables and drawings take."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from pacerail.record import TimingRecord
from pacerail.series import FrameSeries
from pacerail.stats.frames import frame_series
from pacerail.stats.rolling import frame_time_on_screen, rolling_frame_rate


@dataclass(frozen=True)
class SeriesSettings:
    """How series are made from a record."""

    target_fps: Fraction | None = None
    """Overrides the record's own target."""
    window_s: float = 1.0
    centred: bool = False


DEFAULTS = SeriesSettings()


@dataclass(frozen=True, eq=False)
class Rates:
    """The frames of a record and two series over its refreshes."""

    series: FrameSeries
    frame_rate_fps: NDArray[np.float64]
    """(n,) rolling frame rate, NaN where not measurable."""
    frame_time_ms: NDArray[np.float64]
    """(n,) frame time on screen, NaN where there is none."""


def rates_of(record: TimingRecord, settings: SeriesSettings) -> Rates:
    """Series of a record. Raises UsageError for a window or target that makes no sense."""
    series = frame_series(record, target_fps=settings.target_fps)
    rolling = rolling_frame_rate(series, window_s=settings.window_s, centred=settings.centred)
    return Rates(series, rolling.frame_rate_fps, frame_time_on_screen(series))
