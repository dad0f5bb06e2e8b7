"""The one scale of time: milliseconds to pixels, alike along and across the strip."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import ArrayLike, NDArray

DESIGN_SIDE = 1080
"""Styles give lengths for a canvas whose shorter side has this many pixels."""


@dataclass(frozen=True)
class Scale:
    """Whole pixels of a strip whose refreshes all have the same, even width."""

    refresh_hz: Fraction
    pixels_per_refresh: int

    @property
    def pixels_per_ms(self) -> float:
        """Pixels per millisecond, both ways."""
        return float(self.pixels_per_refresh * self.refresh_hz) / 1000.0

    def pixels(self, milliseconds: ArrayLike) -> NDArray[np.int64]:
        """Nearest whole pixel of times in ms; halves go up."""
        scaled = np.asarray(milliseconds, np.float64) * self.pixels_per_ms
        return np.floor(scaled + 0.5).astype(np.int64)


def scale_for(refresh_hz: Fraction, pixels_per_ms: float, unit: float) -> Scale:
    """The scale nearest to a style's that gives a refresh an even number of pixels.

    Even, because a strip that moves by that much per refresh stays aligned with chroma
    samples, which 4:2:0 keeps for every second column and row; at least 2.
    unit : pixels of this canvas per pixel of the design.
    """
    wanted = pixels_per_ms * unit * 1000.0 / float(refresh_hz)
    return Scale(refresh_hz, max(2, 2 * int(wanted / 2 + 0.5)))


def design_unit(width: int, height: int) -> float:
    """Pixels of a canvas per pixel of the design."""
    return min(width, height) / DESIGN_SIDE


def even(value: float) -> int:
    """Nearest even whole number; halves go up."""
    return 2 * int(value / 2 + 0.5)


def even_up(value: float) -> int:
    """Least even whole number that is not smaller."""
    return -2 * int(-value // 2)
