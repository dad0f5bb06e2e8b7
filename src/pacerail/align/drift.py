"""How the offset changes along a match: the drift of one clock against the other."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

# Rounds of fitting, each with less weight on windows that lie far off (Tukey's biweight,
# whose customary constant leaves 95 % efficiency on normal errors).
_ROUNDS, _BIWEIGHT = 8, 4.685
# Scale of normal errors over the median of their absolute values.
_MEDIAN_TO_SIGMA = 1.4826
# The finest scatter that windows are believed to have, whatever they say: their offsets on the
# bench are right to 2 ms in the middle.
_LEAST_SIGMA_S = 2e-3
# Windows that a line needs to leave any scatter to judge it by.
FEWEST_WINDOWS = 4


@dataclass(frozen=True)
class Line:
    """Offset as a straight line over time."""

    offset_s: float
    at_s: float
    """Moment at which `offset_s` holds: the middle of the windows, by what they say."""
    drift_ppm: float
    """Microseconds per second that the offset grows."""
    drift_error_ppm: float
    """Standard error of it."""

    def at(self, moment_s: float) -> float:
        """Offset at a moment, seconds."""
        return self.offset_s + self.drift_ppm * 1e-6 * (moment_s - self.at_s)


def fit_line(
    moments_s: NDArray[np.float64],
    offsets_s: NDArray[np.float64],
    information: NDArray[np.float64],
) -> Line:
    """Straight line through the offsets of windows, robust against a few that are wrong.

    moments_s, offsets_s, information : shape (windows,), windows >= FEWEST_WINDOWS, the last
    positive: what each says about its offset, in any unit.
    """
    weight = information / information.sum()
    kept = np.ones(len(moments_s))
    for _ in range(_ROUNDS):
        used = weight * kept
        used /= used.sum()
        at_s = float(used @ moments_s)
        offset_s = float(used @ offsets_s)
        ahead_s = moments_s - at_s
        slope = float(used @ (ahead_s * offsets_s)) / float(used @ ahead_s**2)
        miss = offsets_s - offset_s - slope * ahead_s
        sigma = max(_MEDIAN_TO_SIGMA * _weighted_median(np.abs(miss), weight), _LEAST_SIGMA_S)
        kept = (1 - np.clip(np.abs(miss) / (_BIWEIGHT * sigma), 0, 1) ** 2) ** 2
    # Least squares with weights: variance of the slope for errors of one sigma each.
    error = sigma * math.sqrt(float(used**2 @ ahead_s**2)) / float(used @ ahead_s**2)
    return Line(offset_s, at_s, slope * 1e6, error * 1e6)


def _weighted_median(values: NDArray[np.float64], weight: NDArray[np.float64]) -> float:
    order = np.argsort(values)
    below = np.cumsum(weight[order])
    return float(values[order][np.searchsorted(below, below[-1] / 2)])
