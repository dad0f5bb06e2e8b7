"""Quantiles of one type throughout: the inverse of the distribution function.

Hyndman and Fan (The American Statistician 50, 1996, p. 361) list nine types of sample
quantile; on the frame times of one capture they differ by up to half a refresh and more.
Type 1 is used here because its answer is always a frame time that occurred, because it
reads literally (P99 is the shortest time that 99 % of the frames did not exceed), and
because it is the one type that weights carry over to without a further choice.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

# Shares that miss a quantile by less than this reach it: sums of many float weights
# differ from the exact sum by about this much at worst.
_SHARE_TIE = 1e-9


def quantile_of_sorted(
    ascending: NDArray[np.float64], share: float, weights: NDArray[np.float64] | None = None
) -> float:
    """Smallest value that `share` of the values, or of their weight, does not exceed.

    ascending : shape (m,), m > 0, sorted. weights : shape (m,), positive, same order.
    Type 1 of Hyndman and Fan; with weights the share is a share of their sum.
    """
    if weights is None:
        index = int(np.ceil(share * len(ascending) - _SHARE_TIE)) - 1
    else:
        cumulative = np.cumsum(weights)
        goal = (share - _SHARE_TIE) * cumulative[-1]
        index = int(np.searchsorted(cumulative, goal, side="left"))
    return float(ascending[min(max(index, 0), len(ascending) - 1)])
