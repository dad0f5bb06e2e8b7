"""Tears of a program that runs near the refresh rate, at no even pace.

It tears in nearly every refresh, at rows that wander; no row is held, and there is no grid to lay
the seams on. A lone seam proves little. But seams that come by chance come in company, as things
that move give several of a kind, while a tear is one seam stronger than any other of its refresh.
Where that is usual, and one such seam lies about a refresh after the other, they are tears.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from pacerail.detect.found import FoundFlips
from pacerail.detect.grid import nearest, placed
from pacerail.detect.part import Part, TearRows
from pacerail.runs import runs

Floats: TypeAlias = NDArray[np.float64]

REACH, FEWEST_LOOKED_AT = 22, 16
"""Refreshes to each side over which it is told whether seams are alone, and the fewest of them in
which seams were looked for and nothing else shows a tear."""
FAINTEST = 0.03
"""Strength below which a seam counts as none."""
ALONE_OCTAVES, ALONE_STRENGTH = 0.6, 0.05
"""How much stronger than the next a seam that stands out must be to be alone, and how strong."""
CLEAR_OCTAVES, USUAL_EXCESS, CONTINUED_EXCESS = 1.2, 0.3, 0.12
"""Octaves from which any seam is clearly alone; and how far beyond that seams lie in the mean, most
or none, where it is usual, and in the refreshes beside. Of 424 clips without tears none comes to
0.2 but for split screens, whose edge is a line; near the refresh rate 15 of 18 come to 0.49."""
LINE_SHARE, MOST_ON_LINE = 0.003, 0.5
"""Share of the height within which seams are on one line, and the most of them that may be: they
are the edge of a panel, or a tear that stands, which `steady` finds."""
FARTHEST, UNEVEN = 4, 0.15
"""Frames from one tear to the next, of which those between are not seen; and the refreshes for
each by which it may come sooner or later than one after the other."""
FEWEST, SURELY_ENOUGH = 4, 8
"""Tears that follow each other so, and those that are worth a search: of seams at any rows four do
so now and then, eight do not."""
ROOM = 0.75
"""Refreshes round such a seam within which there is no other tear; what bands tell errs sooner."""
SAME = 0.04
"""Refreshes within which two flips are one."""


@dataclass(frozen=True, eq=False)
class Followed:
    """What such seams add to flips found otherwise, and what they leave no room for."""

    has_room: NDArray[np.bool_]
    """(flips,) of those found otherwise."""
    added: FoundFlips
    """Tears that are seen, and flips that must lie between them."""


def follow_tears(
    part: Part,
    evidence: Floats,
    flips: FoundFlips,
    is_torn: NDArray[np.bool_],
    is_settled: NDArray[np.bool_],
    period_rows: float,
) -> Followed:
    """Tears that lone seams show, where one follows the other at about the refresh rate.

    evidence : (n, bands) how much more likely each band is to have changed than not.
    flips : those found otherwise, in order of time.
    is_torn, is_settled : (n,) where bands tell which of those are torn, and where nothing is left
        to be told.
    period_rows : rows scanned per refresh period, blanking included.
    """
    moment = flips.place + flips.row / period_rows
    is_known = is_torn[flips.place] & ~is_settled[flips.place] & (flips.row > 0) & ~flips.is_vague
    seams = part.tear_rows
    alone = lone_seams(seams, part.sought & ~is_settled, part.layout.rows)
    lone = np.sort(seams.place[alone] + seams.row[alone] / period_rows)
    known = moment[is_known]
    tears = np.append(lone, known[np.abs(nearest(known, lone) - known) > ROOM])
    order = np.argsort(tears)
    tears, is_lone = tears[order], order < len(lone)
    has_room = np.ones(len(moment), bool)
    seen, unseen = np.empty(0), np.empty(0)
    frames = _frames_between(tears, evidence)
    for first, end in runs(frames > 0):
        is_seen = is_lone[first : end + 1]
        if is_seen.sum() < FEWEST:
            continue
        run = tears[first : end + 1]
        seen = np.append(seen, run[is_seen])
        has_room &= np.abs(nearest(moment, run[is_seen]) - moment) > SAME
        for before, after, count in zip(run[:-1], run[1:], frames[first:end], strict=True):
            between = slice(*np.searchsorted(moment, (before + SAME, after - SAME)))
            if between.stop - between.start >= count:
                has_room[between] = False
                unseen = np.append(unseen, np.linspace(before, after, count + 1)[1:-1])
    place, row = placed(np.append(seen, unseen), part.layout.rows, period_rows)
    midway = np.where(np.arange(len(place)) < len(seen), 0, row)
    return Followed(has_room, FoundFlips.of(place, row - midway, midway=midway))


def _frames_between(tears: Floats, evidence: Floats) -> NDArray[np.int64]:
    """(tears - 1,) frames from each tear to the next, 0 where they do not follow each other."""
    apart = np.diff(tears)
    frames = np.rint(apart).astype(np.int64)
    is_held = np.append(0, np.cumsum(evidence.mean(axis=1) <= 0))
    place = tears.astype(np.int64)
    changes = is_held[place[1:] + 1] == is_held[place[:-1]]
    is_even = np.abs(apart - frames) <= UNEVEN * frames
    return np.where(changes & is_even & (frames <= FARTHEST), frames, 0)


def are_followed(tears: TearRows, length: int, rows: int, period_rows: float) -> bool:
    """Whether tears surely follow each other in so many refreshes, searched and changed all."""
    alone = lone_seams(tears, np.ones(length, bool), rows)
    moment = np.sort(tears.place[alone] + tears.row[alone] / period_rows)
    frames = _frames_between(moment, np.ones((length, 1)))
    return any(end - first + 1 >= SURELY_ENOUGH for first, end in runs(frames > 0))


def lone_seams(tears: TearRows, sought: NDArray[np.bool_], rows: int) -> NDArray[np.bool_]:
    """(seams,) True for one that is alone in its refresh, where that is usual.

    sought : (n,) False where seams were not looked for.
    rows : those that seams are counted in.
    """
    n = len(sought)
    strength = np.maximum(np.maximum(tears.seam, tears.joint), FAINTEST)
    order = np.lexsort((-strength, tears.place))
    rank = np.arange(len(order)) - np.searchsorted(tears.place[order], tears.place[order])
    best, second = order[rank == 0], order[rank == 1]
    highest, next_highest = np.full(n, FAINTEST), np.full(n, FAINTEST)
    highest[tears.place[best]] = strength[best]
    next_highest[tears.place[second]] = strength[second]
    looked_at = sought.copy()
    looked_at[tears.place[tears.mirror_octaves > 0]] = False
    octaves = np.where(looked_at, np.log2(highest / next_highest), 0)
    is_alone = np.zeros(n, bool)
    is_alone[tears.place[best]] = tears.stands_out[best]
    is_alone = np.where(is_alone, octaves >= ALONE_OCTAVES, octaves >= CLEAR_OCTAVES)
    is_alone &= highest >= ALONE_STRENGTH
    row = np.full(n, np.nan)
    row[tears.place[best]] = tears.row[best]
    is_usual = _is_usual(octaves, looked_at) & ~_is_line(np.where(is_alone, row, np.nan), rows)
    result = np.zeros(len(order), bool)
    result[best] = (is_alone & is_usual)[tears.place[best]]
    return result


def _is_usual(octaves: Floats, looked_at: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """(n,) where most seams are clearly alone, or many are beside such a stretch."""
    count = _around(looked_at.astype(float)).sum(axis=1)
    excess = _around(np.maximum(octaves - CLEAR_OCTAVES, 0)).sum(axis=1) / np.maximum(count, 1)
    continues = (count >= FEWEST_LOOKED_AT) & (excess >= CONTINUED_EXCESS)
    is_usual = np.zeros(len(octaves), bool)
    for first, end in runs(continues):
        is_usual[first:end] = (excess[first:end] >= USUAL_EXCESS).any()
    return is_usual


def _is_line(row: Floats, rows: int) -> NDArray[np.bool_]:
    """(n,) where most of the rows nearby are one; those that are not a number do not count."""
    nearby = _around(row, np.nan)
    on_line = (np.abs(nearby - row[:, None]) <= LINE_SHARE * rows).sum(axis=1)
    share = on_line / np.maximum(np.isfinite(nearby).sum(axis=1), 1)
    is_line: NDArray[np.bool_] = _around(share).max(axis=1) > MOST_ON_LINE
    return is_line


def _around(values: Floats, outside: float = 0) -> Floats:
    """(n, 2 * REACH + 1) what lies within `REACH` refreshes to each side of each."""
    return sliding_window_view(np.pad(values, REACH, constant_values=outside), 2 * REACH + 1)
