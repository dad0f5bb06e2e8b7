"""How far coding alone may change a held picture, from the quantiser where the decoder tells it."""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

QUANTISER_REACH = 30
"""Refreshes to each side in which the coarsest quantiser that was seen counts."""
HELD_SHARE_OF_STEP, MOST_CAPTURE_NOISE = 0.5, 3.0
"""Coding changes the strongest blocks of a held picture by less than this share of the step of
the quantiser (H.264 at QP 8 to 40, with B pictures and without); noise of the capture itself,
up to a standard deviation of 2, by less than the second value."""
STARVED_STEP, STARVED_SHARE = 40.0, 0.4
"""Code values and share of the step. The strongest blocks of held pictures change by a third of
it at most at QP 40 to 50 of H.264, B pictures or not (measured); 40 is QP 36."""


def coarsest_step(step: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n,) step of the coarsest quantiser that was seen nearby, not a number if none was.

    step : (n,) in code values where it was looked at; elsewhere not a number.
    """
    around = np.pad(np.nan_to_num(step, nan=0), QUANTISER_REACH)
    coarsest = sliding_window_view(around, 2 * QUANTISER_REACH + 1).max(axis=-1)
    return np.where(coarsest > 0, coarsest, np.nan)


def quantiser_ceiling(coarsest: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n,) octaves that coding does not change a held picture by, infinite where unknown.

    coarsest : (n,) as from `coarsest_step`.
    """
    limit = np.log2(np.maximum(HELD_SHARE_OF_STEP * coarsest, MOST_CAPTURE_NOISE))
    ceiling: NDArray[np.float64] = np.where(np.isnan(coarsest), np.inf, limit)
    return ceiling


def starved(coarsest: NDArray[np.float64], change: NDArray[np.float64]) -> NDArray[np.bool_]:
    """(n,) True where quantising is so coarse that a held picture may change as much.

    coarsest : (n,) as from `coarsest_step`.
    change : (n,) of the strongest blocks in code values.
    """
    is_starved: NDArray[np.bool_] = (coarsest > STARVED_STEP) & (change < STARVED_SHARE * coarsest)
    return is_starved
