"""Counts that grow with the footage, for the readout of an overlay."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacerail.series import FrameSeries
from pacerail.stats.pace import is_late


@dataclass(frozen=True, eq=False)
class RunningCounts:
    """Counts up to and with each refresh; arrays are read-only."""

    late_frames: NDArray[np.int64]
    """(n,) late frames that have ended so far."""
    torn_share: NDArray[np.float64]
    """(n,) torn flips over all flips so far; NaN before the first flip."""

    def __post_init__(self) -> None:
        self.late_frames.flags.writeable = False
        self.torn_share.flags.writeable = False


def running_counts(series: FrameSeries, *, first_refresh: int = 0) -> RunningCounts:
    """Counts over the flips of [first_refresh, i], for every refresh i.

    A late frame counts from the refresh in which it ends: until then nobody saw it late.
    """
    counted = series.flipped & (series.refresh >= first_refresh)
    late = np.flatnonzero(is_late(series) & counted)
    # A frame ends where the next span starts; a frame is never the last span.
    late_frames = np.cumsum(np.bincount(series.refresh[late + 1], minlength=series.refreshes))
    flips = np.cumsum(np.bincount(series.refresh[counted], minlength=series.refreshes))
    torn = np.cumsum(
        np.bincount(series.refresh[counted & (series.tear_row > 0)], minlength=series.refreshes)
    )
    share = np.full(series.refreshes, np.nan)
    np.divide(torn, flips, out=share, where=flips > 0)
    return RunningCounts(late_frames, share)
