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
REACH, FEWEST_ON_PATH = 15, 17
"""Refreshes to each side in which such seams must lie on the path of the tear, and how many. A
program that tears in every refresh shows twenty and more; without tears, seams come and go."""
STRAIGHT_SHARE = 0.0025
"""Share of the height by which such seams may lie off a straight path, root mean square. Those of
tears at a steady rate lie within 0.0022 (mostly 0.0008, which is rounding); those that something
else leaves, as a row that a slow zoom holds in place, beyond 0.0035 nine times in ten."""
SEEN_SEAM = 0.15
"""Strength from which a seam is a tear, where there are signs of such tears."""
FARTHEST = 3
"""How far off its path a tear may be found, in what it may move in a refresh."""
LONGEST_GAP = 60
"""Refreshes between two tears in which the tear is where it must have passed."""


def steady_tears(part: Part) -> NDArray[np.float64]:
    """(n,) row of the tear in refreshes that tear where those beside them do, 0 elsewhere."""
    nearest = DRIFT_SHARE * part.layout.rows
    row, strength = _strongest_followed(part)
    around = np.where(strength > CLEAR_SEAM, row, np.nan)
    around = np.pad(around, REACH, constant_values=np.nan)
    on_path, path, off = _path(row, sliding_window_view(around, 2 * REACH + 1), nearest)
    is_straight = (on_path >= FEWEST_ON_PATH) & (off <= STRAIGHT_SHARE * part.layout.rows)
    is_near = np.abs(row - path) <= FARTHEST * nearest
    seen = np.flatnonzero(is_straight & is_near & (strength > SEEN_SEAM))
    result = np.zeros(len(row))
    result[seen] = row[seen]
    for left, right in pairwise(seen.tolist()):
        gap = right - left
        if gap <= LONGEST_GAP and abs(row[right] - row[left]) <= (gap + FARTHEST) * nearest:
            result[left:right] = np.linspace(row[left], row[right], gap, endpoint=False)
    return result


def _path(
    row: NDArray[np.float64], around: NDArray[np.float64], nearest: float
) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]]:
    """How many refreshes around may show the same tear on its way, the row at which a straight
    line through them passes, and how far off it they lie, root mean square.

    row : (n,) of the tear in question.
    around : (n, 2 * REACH + 1) rows of clear seams, not a number where there is none.
    nearest : rows by which a tear may move in a refresh.
    """
    lag = np.arange(-REACH, REACH + 1)
    agree = np.abs(around - row[:, None]) <= nearest * np.maximum(np.abs(lag), 1)
    count: NDArray[np.int64] = agree.sum(axis=1)
    weight = agree / np.maximum(count, 1)[:, None]
    # Least squares, in deviations from the mean.
    lag_mean = weight @ lag
    apart = np.where(agree, around - row[:, None], 0)
    row_mean = (weight * apart).sum(axis=1)
    from_mean = lag - lag_mean[:, None]
    spread = (weight * from_mean**2).sum(axis=1)
    slope = (weight * from_mean * apart).sum(axis=1) / np.maximum(spread, 1)
    error = apart - row_mean[:, None] - slope[:, None] * from_mean
    off = np.sqrt((weight * error**2).sum(axis=1))
    return count, row + row_mean - slope * lag_mean, off


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
