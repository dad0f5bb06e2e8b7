"""Tears of a program whose frame rate is nearly the refresh rate.

It tears in every refresh, so that no row is ever held and nothing tells by what changed where.
But its tear stays near its row, and shows there again and again. (One that moves away from there
at an even pace is sought in `pace`.)
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
FARTHEST = 3
"""How far off the middle of its path a tear may be found, in what it may move in a refresh."""
LONGEST_GAP = 60
"""Refreshes between two tears in which the tear is where it must have passed."""


def steady_tears(part: Part) -> NDArray[np.float64]:
    """(n,) row of the tear in refreshes that tear where those beside them do, 0 elsewhere."""
    nearest = DRIFT_SHARE * part.layout.rows
    row, strength = _strongest_followed(part)
    around = np.where(strength > CLEAR_SEAM, row, np.nan)
    around = np.pad(around, REACH, constant_values=np.nan)
    on_path, path = _path(row, sliding_window_view(around, 2 * REACH + 1), nearest)
    is_seen = (strength > SEEN_SEAM) & (on_path >= FEWEST_ON_PATH)
    seen = np.flatnonzero(is_seen & (np.abs(row - path) <= FARTHEST * nearest))
    result = np.zeros(len(row))
    result[seen] = row[seen]
    for left, right in pairwise(seen.tolist()):
        gap = right - left
        if gap <= LONGEST_GAP and abs(row[right] - row[left]) <= (gap + FARTHEST) * nearest:
            result[left:right] = np.linspace(row[left], row[right], gap, endpoint=False)
    return result


def _path(
    row: NDArray[np.float64], around: NDArray[np.float64], nearest: float
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """How many refreshes around may show the same tear on its way, and their middle row.

    row : (n,) of the tear in question.
    around : (n, 2 * REACH + 1) rows of clear seams, not a number where there is none.
    nearest : rows by which a tear may move in a refresh.
    """
    distance = np.abs(np.arange(-REACH, REACH + 1))
    agree = np.abs(around - row[:, None]) <= nearest * np.maximum(distance, 1)
    count: NDArray[np.int64] = agree.sum(axis=1)
    # Rows that do not agree are sorted to the end.
    in_order = np.sort(np.where(agree, around, np.inf), axis=1)
    return count, in_order[np.arange(len(row)), np.maximum(count - 1, 0) // 2]


def _strongest_followed(part: Part) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """(n,) row of the seam of each refresh that is strongest with those that follow it at
    nearly the same row in the refreshes beside, and that strength; 0 where there is none."""
    tears, n = part.tear_rows, len(part.refresh)
    # Moving edges are many and wide: what little of one is left unexplained may go on as well.
    place = tears.place[tears.stands_out]
    rank = np.arange(len(place)) - np.searchsorted(place, place)
    row = np.full((n, int(rank.max(initial=0)) + 1), np.nan)
    strength = np.zeros_like(row)
    row[place, rank] = tears.row[tears.stands_out]
    strength[place, rank] = np.maximum(tears.seam, tears.joint)[tears.stands_out]
    total = strength.copy()
    for lag in range(1, FOLLOWED + 1):
        apart = np.abs(row[lag:, :, None] - row[:-lag, None, :])
        is_near = apart <= lag * DRIFT_SHARE * part.layout.rows
        total[lag:] += np.where(is_near, strength[:-lag, None, :], 0).max(axis=2)
        total[:-lag] += np.where(is_near, strength[lag:, :, None], 0).max(axis=1)
    best = total.argmax(axis=1)
    every = np.arange(n)
    return np.nan_to_num(row[every, best]), total[every, best]
