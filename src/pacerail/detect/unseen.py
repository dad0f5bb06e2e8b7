"""Where flips fall whose tear cannot be seen.

A tear that lies in a plain sky, or in a part of the picture that stays as it is, leaves no row
to be found: all that shows is that the new frame is there from the first row that changes on. If
that part is the foot of the picture, the frame shows in the next refresh only. Where a program
tears most of its frames, taking that for a flip at the top of the picture would make its frame
times uneven by what the sky and the foot are high. Where known flips keep an even pace, those
beside tell better, or that of a long run.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from pacerail.detect.even import even_paces
from pacerail.detect.found import FoundFlips
from pacerail.detect.neighbours import mean_within

REACH, TORN_SHARE = 15, 0.4
"""Flips to each side, and the share of them with a tear from which one is to be expected: half the
height may be sky."""
FARTHEST = 8
"""Flips from here to the next whose row is known on either side."""
NEAR_SHARE = 0.025
"""Share of a refresh by which a pace may put a flip below the first row that changes."""
EVEN_SHARE = 0.25
"""Share of the rows in question by which known flips may lie off an even pace."""


def unseen_rows(
    flip: NDArray[np.int64],
    tear_row: NDArray[np.float64],
    first_row: NDArray[np.float64],
    earliest_row: NDArray[np.float64],
    period_rows: float,
) -> NDArray[np.float64]:
    """(m,) rows at which flips without a tear most likely fall, 0 where they may be whole.

    A row below 0 lies so many scan lines before the refresh, in the one before or the blanking.

    flip : (m,) the refresh that first shows each frame, in order.
    tear_row : (m,) its row, 0 where none was found.
    first_row : (m,) first row of that refresh that changes.
    earliest_row : (m,) at most 0: where in the refresh before nothing of the frame shows any more.
    period_rows : rows scanned out in a refresh, blanking among them.
    """
    result = np.zeros(len(flip))
    known = np.flatnonzero(tear_row > 0)
    if len(known) < 3:
        return result
    place = np.arange(len(flip))
    is_alone = (np.diff(flip, prepend=-1) > 0) & (np.diff(flip, append=flip[-1] + 1) > 0)
    is_expected = mean_within(tear_row > 0, REACH) >= TORN_SHARE
    after = np.clip(np.searchsorted(known, place), 1, len(known) - 1)
    before = after - 1
    is_near = (place - known[before] <= FARTHEST) & (known[after] - place <= FARTHEST)
    is_between = (place > known[0]) & (place < known[-1])
    moment = flip[known] + tear_row[known] / period_rows
    paced_row = (np.interp(place, known, moment) - flip) * period_rows
    earliest_row = np.maximum(earliest_row, _after_the_last(flip, tear_row, period_rows))
    off_rows = _off_pace(known, moment) * period_rows
    unseen_height = np.where(paced_row > 0, first_row, -earliest_row)
    is_even = np.maximum(off_rows[before], off_rows[after]) < EVEN_SHARE * unseen_height
    near = NEAR_SHARE * period_rows
    unseen = (tear_row == 0) & is_alone & is_expected & is_near & is_between & is_even
    unseen &= paced_row >= earliest_row - near
    result[unseen] = np.clip(paced_row, earliest_row, first_row)[unseen]
    left = (tear_row == 0) & (result == 0) & is_alone
    result[left] = _rows_on_pace(flip, tear_row, period_rows)[left]
    result[(result > first_row + near) | (result < earliest_row - near)] = 0
    return np.clip(result, earliest_row, first_row)


def _after_the_last(
    flip: NDArray[np.int64], tear_row: NDArray[np.float64], period_rows: float
) -> NDArray[np.float64]:
    """(m,) the first row after the flip before, counted in the refresh of each; at most 0."""
    moment = flip + tear_row / period_rows
    before = np.append(-np.inf, moment[:-1])
    after: NDArray[np.float64] = np.minimum((before - flip) * period_rows + 1, 0)
    return after


def _rows_on_pace(
    flip: NDArray[np.int64], tear_row: NDArray[np.float64], period_rows: float
) -> NDArray[np.float64]:
    """(m,) rows at which flips fall by the even pace of the tears around, 0 where that has none."""
    result = np.zeros(len(flip))
    moment = flip + tear_row / period_rows
    around = int(flip[0]), int(flip[-1]) + 1
    for first, end, pace in even_paces(moment, *around, is_known=tear_row > 0):
        inside = slice(*np.searchsorted(flip, (first, end)))
        late = pace.off(flip[inside].astype(np.float64)) * pace.period
        result[inside] = -late * period_rows
    return result


def _off_pace(place: NDArray[np.int64], moment: NDArray[np.float64]) -> NDArray[np.float64]:
    """Refreshes by which moments around each lie off an even pace between both beside them."""
    share = (place[1:-1] - place[:-2]) / (place[2:] - place[:-2])
    expected = moment[:-2] + share * (moment[2:] - moment[:-2])
    off = np.pad(np.abs(moment[1:-1] - expected), 1, mode="edge")
    around: NDArray[np.float64] = np.median(
        sliding_window_view(np.pad(off, REACH // 2, mode="edge"), REACH), axis=-1
    )
    return around


def shown_next(flips: FoundFlips, end_row: NDArray[np.float64], period_rows: float) -> FoundFlips:
    """The flips, those below all that changes as ones of the next refresh, which first shows them.

    end_row : (n,) end of the rows that change near each refresh.
    """
    following = np.minimum(flips.place + 1, len(end_row) - 1)
    is_clean = np.zeros(len(end_row), bool)
    is_clean[flips.place[flips.row == 0]] = True
    is_below = (flips.row >= end_row[flips.place]) & ~flips.is_vague
    is_below &= ~is_clean[following] & (following > flips.place)
    return replace(
        flips,
        place=np.where(is_below, following, flips.place),
        row=np.where(is_below, 0, flips.row),
        midway=np.where(is_below, flips.row - period_rows, flips.midway),
    )
