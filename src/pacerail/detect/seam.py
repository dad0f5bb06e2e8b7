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

import numpy as np
from numpy.typing import NDArray

from pacerail.detect.blocks import BLOCK_COLUMNS, RunSums
from pacerail.detect.mirror import APART_ROWS, CANDIDATES
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
CONTRAST_ROWS = 12
"""Rows to each side that such a row is compared with."""
SEARCH_ROWS = 40
"""Rows up and down in which a moving edge is looked for: at 40 rows per refresh a picture
of 1080 rows passes in half a second."""
NEAR_ROWS = 3
"""Rows within which an edge found in one neighbour alone counts."""
SHIFTS = (-1, 0, 1)
"""The same sideways, in steps of 16 columns."""

AROUND_ROWS = 16
"""Rows to each side that are looked at where the row is nearly known."""
PARTS = 4
"""Parts of the width that may move sideways on their own."""
MOST_LOOKS = 2
"""Rows looked at more closely per picture."""


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

    @property
    def strength(self) -> float:
        """The stronger of the two signs."""
        return max(self.alone, self.joint)


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
            lone = self._unexplained(share, None, current.luma, following.luma)
            return [Seam(row, alone=strength) for row, strength in lone]
        joins = self._joins(
            self._crossing(previous, current), steps[1], self._crossing(current, following)
        )
        return _merged(
            self._unexplained(share, previous.luma, current.luma, following.luma),
            self._unexplained(joins, previous.luma, current.luma, following.luma),
        )

    def rows_near(
        self, previous: Picture, current: Picture, following: Picture, row: int, *, after_cut: bool
    ) -> list[Seam]:
        """Those next to `row` that stand alone, at a fraction of the cost."""
        first, end = max(row - AROUND_ROWS, 0), min(row + AROUND_ROWS, self._rows)
        if self._rows < 2 * SEARCH_ROWS or self._runs.blocks < FEWEST_BLOCKS or end - first < 4:
            return []
        # All three under each other: so few rows cost less to work on than to call for.
        pictures = (previous, current, following)
        luma = np.concatenate([picture.luma[self._window][first:end] for picture in pictures])
        steps = np.empty((len(luma), self._runs.blocks), np.uint16)
        self._fill_steps(luma, steps[:-1])
        before, now, after = steps.reshape(len(pictures), end - first, -1)[:, :-1]
        share = np.zeros(self._rows - 3, np.float32)
        share[first : end - 3] = self._shares(before, now, after)
        lone = self._unexplained(
            share, None if after_cut else previous.luma, current.luma, following.luma
        )
        return [Seam(row, alone=strength) for row, strength in lone]

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
        total = np.cumsum(np.pad(share, CONTRAST_ROWS + 1, mode="edge")[:-1])
        width = 2 * CONTRAST_ROWS + 1
        contrast: NDArray[np.float32] = share - (total[width:] - total[:-width]) / width
        contrast[contrast < LOWEST_CONTRAST] = 0
        return np.minimum(contrast[1:-1], 1)

    def _unexplained(
        self, share: NDArray[np.float32], previous: Luma | None, current: Luma, following: Luma
    ) -> list[tuple[int, float]]:
        """Rows whose step no moving edge explains, and their strength, strongest first.

        A share bounds its strength, so the search ends when none left can matter.
        """
        # Share s is that of step s + 1, which lies between rows s + 1 and s + 2.
        found: list[tuple[float, int]] = []
        left = share.copy()
        for _ in range(MOST_LOOKS):
            step = int(left.argmax())
            enough = sorted(strength for strength, _ in found)[-CANDIDATES:]
            if left[step] <= (enough[0] if len(enough) == CANDIDATES else 0.0):
                break
            row = step + 2
            edge = self._moving_edge(previous, current, following, row)
            found.append((float(left[step]) * (1 - edge), row))
            left[max(step - APART_ROWS, 0) : step + APART_ROWS] = 0
        return [(row, strength) for strength, row in sorted(found, reverse=True)[:CANDIDATES]]

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

    def _moving_edge(
        self, previous: Luma | None, current: Luma, following: Luma, row: int
    ) -> float:
        """Likeness, 0 to 1, of the step at `row` to an edge that passes through it.

        Such an edge lies above in one neighbour and below in the other, at distances that
        need not be equal as frames may be late; or it stays, after a cut, in the next.
        """
        step = self._signed_steps(current, row, row + 1)[0]
        after = self._likeness(following, step, row)
        if previous is None:
            return _best(after)
        before = self._likeness(previous, step, row)
        up, down = slice(0, SEARCH_ROWS + 1), slice(SEARCH_ROWS, None)
        near = slice(SEARCH_ROWS - NEAR_ROWS, SEARCH_ROWS + NEAR_ROWS + 1)
        return max(
            min(_best(before[up]), _best(after[down])),
            min(_best(before[down]), _best(after[up])),
            _best(before[near]),
            _best(after[near]),
        )

    def _likeness(self, picture: Luma, step: NDArray[np.float32], row: int) -> NDArray[np.float32]:
        """(2 * SEARCH_ROWS + 1,) likeness of a step to those around `row`.

        It is 1 outside the picture: an edge may have come from there or gone there.
        """
        first, end = max(row - SEARCH_ROWS, 1), min(row + SEARCH_ROWS + 1, self._rows)
        steps = self._signed_steps(picture, first, end)
        lengths = np.sqrt(np.einsum("ij,ij->i", steps, steps) * (step @ step)) + 1e-3
        shifted = np.zeros((len(SHIFTS), len(step)), np.float32)
        for place, shift in enumerate(SHIFTS):
            shifted[place, max(shift, 0) : len(step) + min(shift, 0)] = step[
                max(-shift, 0) : len(step) - max(shift, 0)
            ]
        # Part by part of the width, as an edge that comes closer also spreads sideways.
        by_part = steps.reshape(len(steps), PARTS, -1).transpose(1, 0, 2)
        products = by_part @ shifted.reshape(len(SHIFTS), PARTS, -1).transpose(1, 2, 0)
        result = np.ones(2 * SEARCH_ROWS + 1, np.float32)
        offset = SEARCH_ROWS - row
        result[first + offset : end + offset] = products.max(axis=2).sum(axis=0) / lengths
        return result

    def _signed_steps(self, luma: Luma, first: int, end: int) -> NDArray[np.float32]:
        """(end - first, steps) sums over runs of row y less row y - 1, y from `first`."""
        rows = slice(self._window[0].start + first - 1, self._window[0].start + end)
        sums = self._runs.sums(luma[rows, self._window[1]]).astype(np.float32)
        sums = sums[:, : sums.shape[1] - sums.shape[1] % PARTS]
        return sums[1:] - sums[:-1]


def _merged(alone: list[tuple[int, float]], joint: list[tuple[int, float]]) -> list[Seam]:
    """Seams of both kinds, strongest first; rows close together are one."""
    seams = [Seam(row, alone=strength) for row, strength in alone]
    for row, strength in joint:
        near = [seam for seam in seams if abs(seam.row - row) < APART_ROWS]
        seams = [seam for seam in seams if seam not in near]
        lone = max((seam.alone for seam in near), default=0.0)
        best = max(near, key=lambda seam: seam.strength, default=None)
        place = row if best is None or best.strength < strength else best.row
        seams.append(Seam(place, lone, strength))
    return sorted(seams, key=lambda seam: seam.strength, reverse=True)[:CANDIDATES]


def _count(mask: NDArray[np.bool_]) -> NDArray[np.uint16]:
    """True values of each row; three times as fast as counting through numpy's own."""
    counts: NDArray[np.uint16] = np.add.reduce(mask.view(np.uint8), axis=1, dtype=np.uint16)
    return counts


def _best(likeness: NDArray[np.float32]) -> float:
    return min(max(float(likeness.max()), 0.0), 1.0)
