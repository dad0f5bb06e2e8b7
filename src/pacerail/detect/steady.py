"""Tears of a program whose frame rate is nearly the refresh rate.

It tears in every refresh, so that no row is ever held and nothing tells by what changed where.
But its tear stays near its row, and shows there again and again.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from pacerail.detect.part import DRIFT_SHARE, Part

FOLLOWED = 2
"""Refreshes to each side in which a seam is followed."""
CLEAR_SEAM = 0.35
"""Strength of a seam, with those that follow it to either side, that is a sign of such tears."""
REACH, FEWEST_ON_PATH = 15, 15
"""Refreshes to each side in which such seams must lie on the path of the tear, and how many. A
program that tears in every refresh shows twenty and more; without tears, seams come and go."""
SEEN_SEAM = 0.15
"""Strength from which a seam is a tear, where there are signs of such tears."""
LONGEST_GAP = 12
"""Refreshes between two tears in which the tear is where it must have passed."""


def steady_tears(part: Part) -> NDArray[np.float64]:
    """(n,) row of the tear in refreshes that tear where those beside them do, 0 elsewhere."""
    height = part.layout.rows
    row, strength = _strongest_followed(part)
    on_path = _on_path(row, np.where(strength > CLEAR_SEAM, row, np.nan), height)
    seen = np.flatnonzero((strength > SEEN_SEAM) & (on_path >= FEWEST_ON_PATH))
    result = np.zeros(len(row))
    result[seen] = row[seen]
    for left, right in pairwise(seen.tolist()):
        gap = right - left
        if gap <= LONGEST_GAP and abs(row[right] - row[left]) <= gap * DRIFT_SHARE * height:
            result[left:right] = np.linspace(row[left], row[right], gap, endpoint=False)
    return result


def _on_path(
    row: NDArray[np.float64], clear_row: NDArray[np.float64], height: int
) -> NDArray[np.int64]:
    """(n,) number of the refreshes around whose clear seam may be the same tear on its way.

    row : (n,) of the tear in question; clear_row : (n,) of clear seams, not a number elsewhere.
    """
    distance = np.abs(np.arange(-REACH, REACH + 1))
    around = sliding_window_view(np.pad(clear_row, REACH, constant_values=np.nan), len(distance))
    reach = DRIFT_SHARE * height * np.maximum(distance, 1)
    count: NDArray[np.int64] = (np.abs(around - row[:, None]) <= reach).sum(axis=1)
    return count


def _strongest_followed(part: Part) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """(n,) row of the seam of each refresh that is strongest with those that follow it at
    nearly the same row in the refreshes beside, and that strength; 0 where there is none."""
    tears, n = part.tear_rows, len(part.refresh)
    rank = np.arange(len(tears.place)) - np.searchsorted(tears.place, tears.place)
    row = np.full((n, int(rank.max(initial=0)) + 1), np.nan)
    strength = np.zeros_like(row)
    row[tears.place, rank], strength[tears.place, rank] = (
        tears.row,
        np.maximum(tears.seam, tears.joint),
    )
    total = strength.copy()
    for lag in range(1, FOLLOWED + 1):
        apart = np.abs(row[lag:, :, None] - row[:-lag, None, :])
        is_near = apart <= lag * DRIFT_SHARE * part.layout.rows
        total[lag:] += np.where(is_near, strength[:-lag, None, :], 0).max(axis=2)
        total[:-lag] += np.where(is_near, strength[lag:, :, None], 0).max(axis=1)
    best = total.argmax(axis=1)
    place = np.arange(n)
    return np.nan_to_num(row[place, best]), total[place, best]
