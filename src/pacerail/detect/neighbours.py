"""Sums and means over what lies around each, in a row."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

TIME_CONSTANT = 10.0
"""Refreshes over which the weight of a neighbour falls to 1/e."""

_BLOCK = 64


def around(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Sum over neighbours in time, weighted by exp(-distance / TIME_CONSTANT), without self."""
    return _earlier(values) + _earlier(values[::-1])[::-1]


def _earlier(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """The half of `around` that lies before each row: a recurrence, taken block by block."""
    decay = np.exp(-np.arange(_BLOCK + 1) / TIME_CONSTANT)
    lag = np.arange(_BLOCK)[:, None] - np.arange(_BLOCK)
    weights = np.where(lag > 0, decay[np.clip(lag, 0, _BLOCK)], 0.0)
    result = np.empty_like(values)
    carried = np.zeros(values.shape[1])  # sum up to the block, as seen from its first row
    for start in range(0, len(values), _BLOCK):
        block = values[start : start + _BLOCK]
        n = len(block)
        result[start : start + n] = weights[:n, :n] @ block + decay[:n, None] * carried
        carried = decay[n] * carried + decay[n:0:-1] @ block
    return result


def mean_within(values: NDArray[Any], reach: int) -> NDArray[np.float64]:
    """Mean of each value and those within `reach` to each side, of as many as there are."""
    window = np.ones(2 * reach + 1)
    total = np.convolve(np.pad(values, reach).astype(float), window, "valid")
    mean: NDArray[np.float64] = total / np.convolve(
        np.pad(np.ones(len(values)), reach), window, "valid"
    )
    return mean
