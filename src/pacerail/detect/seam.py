"""Rows at which a picture is sewn together from two frames.

Where a picture tears, neighbouring rows belong to different frames: across the width
the step from one row to the next is larger than in the same place of the refresh before
and after, and larger than at the rows beside it. A horizontal edge that moves gives such
a step as well, but then the same edge is found a few rows away in the neighbouring
pictures; a seam is found nowhere.

Where a frame is on screen for a whole refresh, a seam shows in another way as well: what lies
below it goes on above it in the next refresh, and what lies above it went on below it in the
one before. There the rows of neighbouring pictures join better than those of the picture
itself; everywhere else it is the other way round.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from pacerail.detect.blocks import BLOCK_COLUMNS, RunSums
from pacerail.detect.edge import SEARCH_ROWS, EdgeFinder
from pacerail.detect.mirror import APART_ROWS
from pacerail.picture import Luma, Picture

MIDDLE_FROM_COLUMNS = 1280
"""Pictures from this width on are searched in the middle half of their columns: a tear
crosses them all, and half of them carry texture enough."""
ACTIVE_STEP = 2.5
"""Code values per sample: flatter places cannot show a seam."""
EXTRA_STEP = 0.8
"""Code values by which a seam must exceed its surroundings, on top of an eighth of
them: the noise of a crf 23 copy."""
JOINT_ACTIVE_STEP, JOINT_EXTRA_STEP = 5.0, 1.6
"""The same where pictures are compared with each other, whose noise differs."""
FEWEST_BLOCKS = 6
FEWEST_SHARE = 0.2
"""Number and share of blocks across the width that must have texture enough to vote."""
LOWEST_SHARE = 0.15
"""Seams seen by fewer of the voting blocks are not worth a second look."""
LOWEST_CONTRAST = 0.3
"""The same for rows that join better with the neighbouring pictures, beyond what the rows
around them do."""
TORN_SHARE = 0.1
"""Share of the voting blocks in which such a row must join better. The edge of a panel or of a bar
joins no better and no worse, and so better than what moves around it."""
CONTRAST_ROWS = 12
"""Rows to each side that such a row is compared with."""
PEAK_ROWS, MOST_LOOKS = 2, 64
"""Rows to each side that no row exceeds which is looked at more closely, and the most such rows."""
OUTSTANDING = 2
"""The widest steps of a picture stand out."""
FAINTEST, MOST_SEAMS = 0.02, 6
"""Least strength of a seam, and the most that are kept of each kind."""
CROWD, CROWDED = 4, 0.12
"""From so many seams of such a strength on, all are rows of texture that move faster than they can
be followed: a floor close to the camera. (With three tears in each refresh the fourth strongest
comes to 0.05, on such a floor to 0.2.)"""


@dataclass(frozen=True)
class Seam:
    """A row at which two frames may be sewn together."""

    row: int
    """Rows count from the top of the window."""
    alone: float = 0.0
    """Share of the width whose step stands alone, less what a moving edge explains: 0 to 1."""
    joint: float = 0.0
    """Share of the width that joins better with the neighbouring pictures, less the same and
    less what rows around it show: 0 to 1."""

    stands_out: bool = False
    """Whether few steps of the picture are as wide: among many that something explains, one that
    nothing does proves less."""

    @property
    def strength(self) -> float:
        """The stronger of the two signs."""
        return max(self.alone, self.joint)


class _Unexplained(NamedTuple):
    """A step that no moving edge explains."""

    row: int
    strength: float
    stands_out: bool


class SeamFinder:
    """Finds seams in pictures of one size; reuses its buffers.

    window : rows and columns of the picture to look at.
    """

    def __init__(self, window: tuple[slice, slice], bit_depth: int) -> None:
        row_slice, column_slice = window
        width = column_slice.stop - column_slice.start
        if width >= MIDDLE_FROM_COLUMNS:
            column_slice = slice(column_slice.start + width // 4, column_slice.stop - width // 4)
        self._window = row_slice, column_slice
        self._runs = RunSums(column_slice.stop - column_slice.start, bit_depth)
        # Sums must leave room for an eighth more in 16 bits.
        self._shift = max(bit_depth - 10, 0)
        unit = BLOCK_COLUMNS << (bit_depth - 8 - self._shift)
        self._active = np.uint16(ACTIVE_STEP * unit)
        self._extra = np.uint16(EXTRA_STEP * unit)
        self._joint_active = np.uint16(JOINT_ACTIVE_STEP * unit)
        self._joint_extra = np.uint16(JOINT_EXTRA_STEP * unit)
        self._rows = row_slice.stop - row_slice.start
        self._edges = EdgeFinder(self._window, self._runs)
        self._steps: dict[int, NDArray[np.uint16]] = {}
        self._crossings: dict[int, NDArray[np.uint16]] = {}

    def rows(
        self, previous: Picture, current: Picture, following: Picture, *, after_cut: bool
    ) -> list[Seam]:
        """Candidate seams of `current`, strongest first.

        With `after_cut`, `previous` is another scene and says nothing about edges.
        """
        if self._rows < 2 * SEARCH_ROWS or self._runs.blocks < FEWEST_BLOCKS:
            return []
        steps = [self._row_steps(picture) for picture in (previous, current, following)]
        share = self._shares(*steps)
        if after_cut:
            return _merged(self._unexplained([share], None, current, following))
        joins = self._joins(
            self._crossing(previous, current), steps[1], self._crossing(current, following)
        )
        return _merged(self._unexplained([share, joins], previous, current, following))

    def _shares(
        self, before: NDArray[np.uint16], now: NDArray[np.uint16], after: NDArray[np.uint16]
    ) -> NDArray[np.float32]:
        """(steps - 2,) share of the width at which a step stands alone in time and place."""
        inner = now[1:-1]
        around = np.maximum(before[1:-1], after[1:-1])
        np.maximum(around, now[:-2], out=around)
        np.maximum(around, now[2:], out=around)
        voters = _count(np.maximum(inner, around) > self._active)
        around += (around >> np.uint16(3)) + self._extra
        seen = _count(inner > np.maximum(around, self._active))
        share = (seen / (voters + 2)).astype(np.float32)
        share[voters < max(FEWEST_BLOCKS, FEWEST_SHARE * self._runs.blocks)] = 0
        share[share < LOWEST_SHARE] = 0
        return share

    def _joins(
        self, before: NDArray[np.uint16], now: NDArray[np.uint16], after: NDArray[np.uint16]
    ) -> NDArray[np.float32]:
        """(steps - 2,) how much better than those around it a row joins with other pictures.

        before, after : steps from a row of the picture before to the next of this one, and of
            this one to the next of the picture after, turned the other way in time.
        """
        across = np.maximum(before, after)
        extra, active = self._joint_extra, self._joint_active
        voters = _count(np.maximum(now, across) > active)
        torn = _count(now > np.maximum(across + (across >> np.uint16(3)) + extra, active))
        whole = _count(across > np.maximum(now + (now >> np.uint16(3)) + extra, active))
        share = (torn.astype(np.float32) - whole) / (voters + np.float32(2))
        share[voters < max(FEWEST_BLOCKS, FEWEST_SHARE * self._runs.blocks)] = 0
        # The rows beside it, of the side that shows more: where things pass behind the edge of a
        # panel at a row per refresh, all on their side join better.
        padded = np.pad(share, CONTRAST_ROWS, mode="edge")
        total = np.cumsum(np.pad(padded, (1, 0)))
        mean = (total[CONTRAST_ROWS:] - total[:-CONTRAST_ROWS]) / CONTRAST_ROWS
        contrast: NDArray[np.float32] = share - np.maximum(
            mean[: len(share)], mean[CONTRAST_ROWS + 1 :]
        )
        contrast[(contrast < LOWEST_CONTRAST) | (torn <= TORN_SHARE * voters)] = 0
        return np.minimum(contrast[1:-1], 1)

    def _unexplained(
        self,
        shares: list[NDArray[np.float32]],
        previous: Picture | None,
        current: Picture,
        following: Picture,
    ) -> list[list[_Unexplained]]:
        """For each of the shares, the rows whose step no moving edge explains, strongest first."""
        highest = [_highest(share) for share in shares]
        # Share s is that of step s + 1, which lies between rows s + 1 and s + 2.
        step = np.unique(np.concatenate(highest)) + 1
        if not len(step):
            return [[] for _ in shares]
        edge = self._edges.likeness(previous, current, following, step)
        return [
            _strongest(peak + 2, share[peak] * (1 - edge[np.searchsorted(step, peak + 1)]))
            for share, peak in zip(shares, highest, strict=True)
        ]

    def _row_steps(self, picture: Picture) -> NDArray[np.uint16]:
        """(rows - 1, blocks) sums of abs(row y + 1 - row y); kept for the next two calls."""
        kept = self._steps.get(picture.refresh)
        if kept is not None:
            return kept
        if len(self._steps) < 3:
            steps = np.empty((self._rows - 1, self._runs.blocks), np.uint16)
        else:
            steps = self._steps.pop(min(self._steps))
        self._fill_steps(picture.luma[self._window], steps)
        self._steps[picture.refresh] = steps
        return steps

    def _crossing(self, earlier: Picture, later: Picture) -> NDArray[np.uint16]:
        """(rows - 1, blocks) sums of abs(row y + 1 of the earlier - row y of the later picture);
        kept for the next call."""
        kept = self._crossings.get(earlier.refresh)
        if kept is not None:
            return kept
        if len(self._crossings) < 2:
            crossing = np.empty((self._rows - 1, self._runs.blocks), np.uint16)
        else:
            crossing = self._crossings.pop(min(self._crossings))
        below, above = earlier.luma[self._window][1:], later.luma[self._window][:-1]
        self._runs.absolute_difference(below, above, crossing)
        if self._shift:
            np.right_shift(crossing, np.uint16(self._shift), out=crossing)
        self._crossings[earlier.refresh] = crossing
        return crossing

    def _fill_steps(self, luma: Luma, out: NDArray[np.uint16]) -> None:
        self._runs.absolute_difference(luma[1:], luma[:-1], out)
        if self._shift:
            np.right_shift(out, np.uint16(self._shift), out=out)


def _merged(found: list[list[_Unexplained]]) -> list[Seam]:
    """Seams that stand alone and, if sought, join better; strongest first, those close are one.

    None where they crowd.
    """
    alone, joint = found if len(found) == 2 else (found[0], [])
    if len(alone) >= CROWD and alone[CROWD - 1].strength >= CROWDED:
        return []
    seams = [Seam(row, alone=strength, stands_out=most) for row, strength, most in alone]
    for row, strength, stands_out in joint:
        near = [seam for seam in seams if abs(seam.row - row) < APART_ROWS]
        seams = [seam for seam in seams if seam not in near]
        lone = max((seam.alone for seam in near), default=0.0)
        best = max(near, key=lambda seam: seam.strength, default=None)
        place = row if best is None or best.strength < strength else best.row
        stands_out = stands_out or any(seam.stands_out for seam in near)
        seams.append(Seam(place, lone, strength, stands_out))
    return sorted(seams, key=lambda seam: seam.strength, reverse=True)


def _count(mask: NDArray[np.bool_]) -> NDArray[np.uint16]:
    """True values of each row; three times as fast as counting through numpy's own."""
    counts: NDArray[np.uint16] = np.add.reduce(mask.view(np.uint8), axis=1, dtype=np.uint16)
    return counts


def _highest(share: NDArray[np.float32]) -> NDArray[np.int64]:
    """Places of values that none close by exceeds, the highest first, at most `MOST_LOOKS`."""
    padded = np.pad(share, PEAK_ROWS)
    highest = share.copy()
    for apart in range(2 * PEAK_ROWS + 1):
        np.maximum(highest, padded[apart : apart + len(share)], out=highest)
    peak = np.flatnonzero((share > 0) & (share >= highest))
    return peak[np.argsort(-share[peak], kind="stable")[:MOST_LOOKS]]


def _strongest(row: NDArray[np.int64], strength: NDArray[np.float32]) -> list[_Unexplained]:
    """The strongest rows, none close to another; they are given widest step first."""
    outstanding = _apart(row, OUTSTANDING)
    order = np.argsort(-strength, kind="stable")
    order = order[strength[order] >= FAINTEST]
    return [
        _Unexplained(int(row[look]), float(strength[look]), look in outstanding)
        for look in order[_apart(row[order], MOST_SEAMS)].tolist()
    ]


def _apart(row: NDArray[np.int64], most: int) -> list[int]:
    """Places of the first rows of which none lies close to one before it."""
    chosen: list[int] = []
    for place, one in enumerate(row.tolist()):
        if len(chosen) == most:
            break
        if all(abs(one - row[other]) >= APART_ROWS for other in chosen):
            chosen.append(place)
    return chosen
