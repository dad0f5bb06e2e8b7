"""Whether a step from one row to the next is a horizontal edge on its way through the picture.

An edge that moves is found a few rows away in the neighbouring pictures; where two frames are
sewn together, the step is found nowhere. Steps are compared sideways part by part, as what comes
closer spreads.
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
NEAR_ROWS = 3
"""Rows within which an edge found in one neighbour alone counts."""
SHIFTS = (-1, 0, 1)
"""The same sideways, in steps of 16 columns."""
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
        """(looks,) likeness, 0 to 1, of steps of `current` to edges that pass through them.

        previous : none after a cut: another scene says nothing about edges.
        step : (looks,) places of steps; step y lies between rows y and y + 1 of the window.

        Such an edge lies above in one neighbour and below in the other, at distances that
        need not be equal as frames may be late; or it stays, after a cut, in the next.
        """
        signed, length = self._signed(current)
        signed, length = self._shifted(signed[:, step]), length[step]
        after = self._around(following, signed, length, step)
        if previous is None:
            only: Floats = after.max(axis=1)
            return only
        before = self._around(previous, signed, length, step)
        up, down = slice(0, SEARCH_ROWS + 1), slice(SEARCH_ROWS, None)
        near = slice(SEARCH_ROWS - NEAR_ROWS, SEARCH_ROWS + NEAR_ROWS + 1)
        ways = (
            np.minimum(before[:, up].max(axis=1), after[:, down].max(axis=1)),
            np.minimum(before[:, down].max(axis=1), after[:, up].max(axis=1)),
            before[:, near].max(axis=1),
            after[:, near].max(axis=1),
        )
        likeness: Floats = np.maximum.reduce(ways)
        return likeness

    def _around(
        self,
        picture: Picture,
        shifted: Floats,
        length: Floats,
        step: NDArray[np.int64],
    ) -> Floats:
        """(looks, 2 * SEARCH_ROWS + 1) likeness, 0 to 1, of steps to those around them.

        It is 1 outside the picture: an edge may have come from there or gone there.
        """
        there, lengths = self._signed(picture)
        # Part by part of the width, as an edge that comes closer also spreads sideways.
        products = (there @ shifted).reshape(PARTS, len(lengths), len(SHIFTS), len(step))
        best = products.max(axis=2).sum(axis=0)
        best /= lengths[:, None] * length + np.float32(1e-3)
        place = step[:, None] + np.arange(-SEARCH_ROWS, SEARCH_ROWS + 1)
        outside = (place < 0) | (place >= len(best))
        like = best[np.clip(place, 0, len(best) - 1), np.arange(len(step))[:, None]]
        result: Floats = np.where(outside, 1, np.clip(like, 0, 1))
        return result

    def _shifted(self, signed: Floats) -> Floats:
        """(PARTS, steps, SHIFTS * looks) signed steps moved sideways, by parts of the width."""
        parts, looks, steps = signed.shape
        whole = signed.swapaxes(0, 1).reshape(looks, parts * steps)
        moved = np.zeros((len(SHIFTS), *whole.shape), np.float32)
        for one, shift in zip(moved, SHIFTS, strict=True):
            end = whole.shape[1]
            one[:, max(shift, 0) : end + min(shift, 0)] = whole[
                :, max(-shift, 0) : end - max(shift, 0)
            ]
        by_part = moved.reshape(len(SHIFTS) * looks, parts, steps)
        return by_part.transpose(1, 2, 0)

    def _signed(self, picture: Picture) -> tuple[Floats, Floats]:
        """(PARTS, rows - 1, steps) sums over runs of row y + 1 less row y, by parts of the width,
        and (rows - 1,) their lengths; kept for the next calls."""
        kept = self._signed_steps.get(picture.refresh)
        if kept is not None:
            return kept
        luma = picture.luma[self._window]
        starts = range(0, len(luma), SUMMED_ROWS)
        runs = [self._runs.sums(luma[start : start + SUMMED_ROWS]) for start in starts]
        sums = np.concatenate(runs).astype(np.float32)
        steps = sums.shape[1] // PARTS
        sums = sums[:, : PARTS * steps]
        signed = sums[1:] - sums[:-1]
        by_part = np.ascontiguousarray(signed.reshape(-1, PARTS, steps).swapaxes(0, 1))
        if len(self._signed_steps) == 3:
            del self._signed_steps[min(self._signed_steps)]
        result = by_part, np.sqrt(np.einsum("ij,ij->i", signed, signed))
        self._signed_steps[picture.refresh] = result
        return result
