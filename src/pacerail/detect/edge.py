"""Whether a step from one row to the next is a horizontal edge on its way through the picture.

An edge that moves is found a few rows away in one of the neighbouring pictures, and mostly in
both, unless it comes from behind another or goes there; where two frames are sewn together, the
step is found nowhere. Steps are compared sideways part by part, as what comes closer spreads.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from pacerail.detect.blocks import RunSums
from pacerail.picture import Picture

Floats: TypeAlias = NDArray[np.float32]

SEARCH_ROWS = 40
"""Rows up and down in which a moving edge is looked for: at 40 rows per refresh a picture
of 1080 rows passes in half a second."""
SHIFTS = (-1, 0, 1)
"""The same sideways, in steps of 16 columns."""
GROUP_ROWS = 60
"""Rows over which steps may lie that are compared with the same rows."""
PARTS = 4
"""Parts of the width that may move sideways on their own."""
SUMMED_ROWS = 180
"""Rows that are summed at a time."""


class EdgeFinder:
    """Compares steps of pictures of one size; keeps those of the last three.

    window : rows and columns of the picture to look at.
    """

    def __init__(self, window: tuple[slice, slice], runs: RunSums) -> None:
        self._window = window
        self._runs = runs
        self._signed_steps: dict[int, tuple[Floats, Floats]] = {}

    def likeness(
        self,
        previous: Picture | None,
        current: Picture,
        following: Picture,
        step: NDArray[np.int64],
    ) -> Floats:
        """(looks,) likeness, 0 to 1, of steps of `current` to edges of its neighbours.

        previous : none after a cut: another scene says nothing about edges.
        step : (looks,) ascending places; step y lies between rows y and y + 1 of the window.
        """
        signed, lengths = self._signed(current)
        moved, length = _moved(signed[:, :, step]), lengths[step]
        likeness = self._around(following, moved, length, step)
        if previous is not None:
            np.maximum(likeness, self._around(previous, moved, length, step), out=likeness)
        return likeness

    def _around(
        self, picture: Picture, moved: Floats, length: Floats, step: NDArray[np.int64]
    ) -> Floats:
        """(looks,) likeness, 0 to 1, of ascending steps to the most alike of those around them."""
        there, lengths = self._signed(picture)
        like = np.empty(len(step), np.float32)
        # Steps close together are looked for in the same rows.
        for looks in np.split(np.arange(len(step)), _starts(step)):
            top = max(int(step[looks[0]]) - SEARCH_ROWS, 0)
            rows = slice(top, int(step[looks[-1]]) + SEARCH_ROWS + 1)
            # Part by part of the width, as an edge that comes closer also spreads sideways.
            products = moved[:, :, looks[0] : looks[-1] + 1] @ there[:, None, :, rows]
            best = products[:, 0]
            for shifted in range(1, len(SHIFTS)):
                np.maximum(best, products[:, shifted], out=best)
            total = np.add.reduce(best)
            total /= lengths[rows] * length[looks, None] + np.float32(1e-3)
            apart = np.arange(top, top + total.shape[1]) - step[looks, None]
            total[np.abs(apart) > SEARCH_ROWS] = 0
            like[looks] = np.maximum.reduce(total, axis=1)
        return np.clip(like, 0, 1, out=like)

    def _signed(self, picture: Picture) -> tuple[Floats, Floats]:
        """(PARTS, steps, rows - 1) sums over runs of row y + 1 less row y, by parts of the width,
        and (rows - 1,) their lengths; kept for the next calls."""
        kept = self._signed_steps.get(picture.refresh)
        if kept is not None:
            return kept
        luma = picture.luma[self._window]
        starts = range(0, len(luma), SUMMED_ROWS)
        runs = [self._runs.sums(luma[start : start + SUMMED_ROWS]) for start in starts]
        sums = np.concatenate(runs).T.astype(np.float32)
        steps = len(sums) // PARTS
        signed = np.diff(sums[: PARTS * steps])
        if len(self._signed_steps) == 3:
            del self._signed_steps[min(self._signed_steps)]
        result = signed.reshape(PARTS, steps, -1), np.sqrt(np.einsum("ij,ij->j", signed, signed))
        self._signed_steps[picture.refresh] = result
        return result


def _moved(signed: Floats) -> Floats:
    """(PARTS, SHIFTS, looks, steps) signed steps moved sideways, by parts of the width.

    signed : (PARTS, steps, looks)
    """
    parts, steps, looks = signed.shape
    whole = signed.reshape(parts * steps, looks).T
    end = parts * steps
    moved = np.zeros((len(SHIFTS), looks, end), np.float32)
    for one, shift in zip(moved, SHIFTS, strict=True):
        one[:, max(shift, 0) : end + min(shift, 0)] = whole[:, max(-shift, 0) : end - max(shift, 0)]
    by_part = moved.reshape(len(SHIFTS), looks, parts, steps)
    return np.ascontiguousarray(by_part.transpose(2, 0, 1, 3))


def _starts(step: NDArray[np.int64]) -> list[int]:
    """Where each group of ascending steps but the first one starts."""
    starts = []
    first = step[0]
    for place, one in enumerate(step.tolist()):
        if one - first > GROUP_ROWS:
            starts.append(place)
            first = one
    return starts
