"""The trace that interpolation leaves: how bent the picture is at each row and column.

A picture enlarged by N is made of weighted means of its own samples, and the weights repeat
every N samples: near one of the drawn samples the picture is as sharp as it was, halfway
between two it is smooth. So the size of its second derivative, averaged along each row,
rises and falls from row to row with a period of N, and likewise from column to column
(Gallagher, "Detection of Linear and Cubic Interpolation in JPEG Compressed Images", CRV
2005). What the picture shows has no such period, or not at the same place everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

# Each sample's bend is told as a share of the mean bend so many samples to either side, so
# that every edge and texture counts alike. (Measured on the bench: 8 finds as much as 16, and
# five times the evidence that plain averaging gives.)
REACH = 8
# Bends of fewer code values of 8 bits count for less: rounding and lossy coding bend as much.
# (Bench: up to twice the strength of 1 where edges are few, and no less elsewhere.)
LEAST_BEND = 8.0
# Strips are looked at apart, so that one thing in the picture cannot speak for all of it; a
# strip should hold some fifty samples across. (Our choice.)
STRIPS = 16
STRIP_WIDTH = 48
# The least length of a strip that a period can be looked for in. (Our choice.)
LEAST_LENGTH = 128

Samples = NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class Strip:
    """What one strip of a picture says along it."""

    start: int
    """The sample of the picture at which the strip begins."""
    bend: NDArray[np.float64]
    """float64, shape (samples,): mean relative second derivative at each sample."""


@dataclass(frozen=True, eq=False)
class Trace:
    """What all strips in one direction say."""

    length: int
    """Samples of the whole picture in that direction."""
    strips: tuple[Strip, ...]


def strip_means(samples: Samples) -> NDArray[np.float64]:
    """Mean relative bend along the first axis, shape (strips, length)."""
    length, width = samples.shape
    if length < LEAST_LENGTH:
        return np.zeros((0, length))
    bend = relative_bend(samples)
    count = min(max(width // STRIP_WIDTH, 1), STRIPS)
    edges = np.linspace(0, width, count + 1).astype(np.intp)
    sums = np.add.reduceat(bend, edges[:-1], axis=1, dtype=np.float64)
    means: NDArray[np.float64] = (sums / np.diff(edges)).T
    return means


def relative_bend(samples: Samples) -> Samples:
    """Second derivative along the first axis over its mean nearby, same shape; 1 on average.

    samples : float32, shape (length, width), in code values of 8 bits; length above 2.
    The first and last row repeat their neighbours.
    """
    bend = np.empty_like(samples)
    inner = bend[1:-1]
    np.subtract(samples[2:], samples[1:-1], out=inner)
    inner -= samples[1:-1]
    inner += samples[:-2]
    np.abs(inner, out=inner)
    bend[0], bend[-1] = bend[1], bend[-2]
    bend /= nearby_mean(bend) + np.float32(LEAST_BEND)
    return bend


def nearby_mean(values: Samples) -> Samples:
    """Mean of up to `REACH` rows to either side and the row itself.

    Sums over 2, 4, ... 2 * `REACH` rows, each from the one before: a power of two. (Four times
    as fast as differences of a running sum.)
    """
    length = len(values)
    padded = np.pad(values, ((REACH, REACH), (0, 0)))
    sums, step = padded, 1
    while step <= REACH:
        sums = sums[:-step] + sums[step:]
        step *= 2
    means: Samples = sums[:length]
    means += padded[2 * REACH :]
    places = np.arange(length)
    counts = np.minimum(places, REACH) + np.minimum(length - 1 - places, REACH) + 1
    means /= counts.astype(np.float32)[:, None]
    return means
