"""Where two captures might show the same content: every offset tried at once.

What stands in a picture says little: two dark harbours look alike. How it changes says much.
Captures are therefore compared by their change over some hundredth of seconds, as a direction
in the space of all cells, so that a cut weighs no more than a slow pan. The cosines between
the changes of both, summed over time, are a correlation, which the fast Fourier transform
gives for all offsets together.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacerail.align.compare import standardised
from pacerail.align.signature import Signature
from pacerail.align.thumbnail import COLUMNS, ROWS

GRID_HZ = 30
"""Moments compared per second."""
# Moments that a change is taken over: 133 ms, as long as a fast thing needs for a cell or two.
_LAG = 4
# Cells merged each way: search must not mind a crop of a few percent, two cells do not.
_POOL = 2
# Change per cell, in standard deviations of the picture, at which a moment counts half; coding
# noise stays below a fifth of it. (Swept over 0.01 to 0.1: no difference to speak of.)
_HALF_WEIGHT = 0.03
# Moments turned into changes at a time.
_BLOCK = 4096


@dataclass(frozen=True, eq=False)
class Changes:
    """Change of a capture around each moment of a grid of `GRID_HZ`."""

    direction: NDArray[np.float32]
    """Shape (n, cells), unit vectors times `weight`."""
    weight: NDArray[np.float32]
    """Shape (n,), 0 where nothing moves, towards 1 where much does."""
    start_s: float
    """Moment of the first row."""


def changes_of(signature: Signature, start_s: float, end_s: float) -> Changes:
    """Changes of the part [start_s, end_s)."""
    moments = start_s + np.arange(max(int((end_s - start_s) * GRID_HZ) + 1, _LAG + 1)) / GRID_HZ
    directions, weights = [], []
    for first in range(0, len(moments) - _LAG, _BLOCK):
        change = _change(signature.frames_at(moments[first : first + _BLOCK + _LAG]))
        strength = np.sqrt(np.mean(change * change, axis=1))
        weight = strength / (strength + _HALF_WEIGHT)
        length = np.maximum(strength, 1e-9) * np.sqrt(change.shape[1])
        directions.append(change * (weight / length)[:, None])
        weights.append(weight)
    return Changes(
        np.concatenate(directions).astype(np.float32),
        np.concatenate(weights).astype(np.float32),
        start_s + _LAG / 2 / GRID_HZ,
    )


def _change(frames: NDArray[np.float32]) -> NDArray[np.float32]:
    looks = standardised(frames, np.ones((ROWS, COLUMNS), np.float32))
    pooled = looks.reshape(-1, ROWS // _POOL, _POOL, COLUMNS // _POOL, _POOL).mean(axis=(2, 4))
    flat = pooled.reshape(len(frames), -1)
    change: NDArray[np.float32] = flat[_LAG:] - flat[:-_LAG]
    change -= change.mean(axis=1, keepdims=True)
    return change


def correlation(
    first: Changes, second: Changes
) -> tuple[NDArray[np.intp], NDArray[np.float64], NDArray[np.float64]]:
    """Every lag in grid steps, the sum of weighted cosines at it, and the sum of weights.

    At lag k row i of `first` meets row i + k of `second`.
    """
    rows, others = len(first.weight), len(second.weight)
    size = 1 << (rows + others - 1).bit_length()
    spectrum = np.zeros(size // 2 + 1, np.complex128)
    for cell in range(first.direction.shape[1]):
        spectrum += _cross(first.direction[:, cell], second.direction[:, cell], size)
    lags = np.arange(-rows + 1, others)
    similar = np.fft.irfft(spectrum, size)[lags]
    weight = np.fft.irfft(_cross(first.weight, second.weight, size), size)[lags]
    return lags, similar, np.maximum(weight, 0)


def _cross(
    first: NDArray[np.float32], second: NDArray[np.float32], size: int
) -> NDArray[np.complex128]:
    product: NDArray[np.complex128] = np.fft.rfft(first, size).conj() * np.fft.rfft(second, size)
    return product


def along(first: Changes, second: Changes, lag: int) -> tuple[int, NDArray[np.float64]]:
    """First row of `first` that has a partner at that lag, and (n, 2) from there on.

    Columns: weighted cosine of each moment, and its weight.
    """
    start = max(0, -lag)
    end = min(len(first.weight), len(second.weight) - lag)
    cosine = np.einsum(
        "nc,nc->n", first.direction[start:end], second.direction[start + lag : end + lag]
    )
    weight = first.weight[start:end] * second.weight[start + lag : end + lag]
    return start, np.stack([cosine, weight], axis=1).astype(np.float64)
