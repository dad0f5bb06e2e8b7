"""The frame time a program seems to aim at, told from its frame times."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

# Programs aim at the display's rate divided by a small whole number, or at a rate of
# film and video shown in a cadence; common practice, no published source.
_DIVISORS = range(1, 9)
_CADENCE_RATES = (24, 25, 30, 40, 45, 48, 50)

# Pace is averaged over a dozen frames: a whole number of the repeating patterns of two,
# three, four and six frames, so that 1:3 and 3:2 read as their mean.
_PACE_FRAMES = 12
# How far the averaged pace may lie from a rate to be called that rate: more than the
# ripple that a pattern of five leaves in an average of twelve (1 in 28.8, 3.5 %).
_PACE_TOLERANCE = 0.036


def infer_target_refreshes(frame_refreshes: NDArray[np.float64], refresh_hz: Fraction) -> float:
    """Frame time aimed at, in refreshes: the steady pace held longest, else the median.

    frame_refreshes : shape (m,), length of each frame in refreshes.
    A pace is steady at a rate while the mean of twelve frame times lies within 3.6 % of
    it. When no rate is held for half of the time the program follows no clock, and the
    median frame time stands in. Without any frame the answer is one refresh.
    """
    if not len(frame_refreshes):
        return 1.0
    width = min(_PACE_FRAMES, len(frame_refreshes))
    total = np.concatenate([[0.0], np.cumsum(frame_refreshes)])
    weight = total[width:] - total[:-width]
    pace = weight / width
    candidates = _candidate_refreshes(refresh_hz)
    distance = np.abs(pace[:, np.newaxis] / candidates - 1.0)
    nearest = distance.argmin(axis=1)
    steady = distance[np.arange(len(pace)), nearest] <= _PACE_TOLERANCE
    held = np.bincount(nearest[steady], weights=weight[steady], minlength=len(candidates))
    best = int(held.argmax())
    if held[best] >= 0.5 * weight.sum():
        return float(candidates[best])
    return float(np.median(frame_refreshes))


def _candidate_refreshes(refresh_hz: Fraction) -> NDArray[np.float64]:
    """Frame times worth naming, in refreshes; film rates slow down with a 1000/1001 display."""
    slow_down = Fraction(1000, 1001) if refresh_hz.denominator == 1001 else Fraction(1)
    in_cadence = {refresh_hz / (rate * slow_down) for rate in _CADENCE_RATES}
    whole = {Fraction(divisor) for divisor in _DIVISORS}
    return np.array(
        sorted(float(length) for length in whole | in_cadence if length >= 1), np.float64
    )
