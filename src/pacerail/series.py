"""The frames of a capture as spans of screen time: made by stats, read by all below."""

from __future__ import annotations

from dataclasses import dataclass, fields
from enum import IntEnum
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray


class SpanKind(IntEnum):
    """What one span of screen time is."""

    FRAME = 0
    """One frame, from its flip to the next."""
    STILL = 1
    """One frame shown longer than the still limit: a pause, a menu or a stall."""
    FAULT = 2
    """Refreshes that the recording lost."""
    OPEN = 3
    """A frame of unknown length: before the first flip, beside a fault, or at the end."""


@dataclass(frozen=True, eq=False)
class FrameSeries:
    """Spans that fill a capture without gap or overlap, from 0 s to its duration.

    All columns have shape (m,). Times are float64 seconds from the first picture.
    """

    refresh_hz: Fraction
    refreshes: int
    """Length of the capture in refreshes."""
    picture_height: int
    """Rows that `tear_row` refers to."""
    start_s: NDArray[np.float64]
    end_s: NDArray[np.float64]
    kind: NDArray[np.uint8]
    """SpanKind of each span."""
    refresh: NDArray[np.int64]
    """Refresh in which the span starts."""
    tear_row: NDArray[np.float64]
    """Row at which the span's frame came in; 0 is clean."""
    flipped: NDArray[np.bool_]
    """True where the span starts with a flip."""
    target_ms: float
    """Frame time that counts as on pace."""
    target_is_inferred: bool

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            if isinstance(value, np.ndarray):
                if value.shape != self.start_s.shape:
                    raise ValueError(f"{field.name} must have shape {self.start_s.shape}")
                value.flags.writeable = False

    @property
    def frame_time_ms(self) -> NDArray[np.float64]:
        """Length of every span in milliseconds, whatever its kind."""
        return (self.end_s - self.start_s) * 1000.0

    @property
    def duration_s(self) -> Fraction:
        """Exact length of the capture."""
        return self.refreshes / self.refresh_hz
