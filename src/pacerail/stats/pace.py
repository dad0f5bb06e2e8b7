"""Which frames are late, and by how many refreshes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pacerail.series import FrameSeries, SpanKind
from pacerail.stats.frames import TIE_REFRESHES


def overrun_refreshes(series: FrameSeries) -> NDArray[np.float64]:
    """(m,) by how many refreshes each span is longer than the target frame time."""
    result: NDArray[np.float64] = (
        (series.frame_time_ms - series.target_ms) * float(series.refresh_hz) / 1000.0
    )
    return result


def is_late(series: FrameSeries) -> NDArray[np.bool_]:
    """(m,) True for frames more than half a refresh beyond the target frame time.

    Half a refresh is common practice, no published source. A tie is on pace.
    """
    result: NDArray[np.bool_] = (series.kind == SpanKind.FRAME) & (
        overrun_refreshes(series) > 0.5 + TIE_REFRESHES
    )
    return result


def late_limit_ms(series: FrameSeries) -> float:
    """Frame time beyond which a frame is late."""
    return series.target_ms + 500.0 / float(series.refresh_hz)


def missed_refreshes(series: FrameSeries) -> NDArray[np.int64]:
    """(m,) whole refreshes by which late frames overran the target; 0 for all others.

    Halves round up, so a late frame misses at least one.
    """
    whole = np.floor(overrun_refreshes(series) + 0.5 + TIE_REFRESHES).astype(np.int64)
    return np.where(is_late(series), whole, 0)
