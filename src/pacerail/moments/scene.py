"""How far two pictures are from showing the same scene, whatever has moved in between.

A cell of one sketch that lies within the range of the cells around its place in the other
may have moved there: only what no near cell explains counts. Motion, however fast, thus
weighs little from one refresh to the next, while another scene weighs much. Scenes are
worked on many at a time: each alone would cost more in calls than in work.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from pacerail.moments.sketch import Sketch

DOWN, ACROSS = 3, 1
"""Cells around a place within which something may have moved, 6 % of the picture down and 3 %
across. (Our choice: within 1/60 s the fastest shot of the demo moves by 1 %.)"""

Cells = NDArray[np.uint8]
"""uint8, shape (..., 2, ROWS, columns): the cells, and their complements. The complement of
the greatest complement is the least cell, so one comparison does for both."""


@dataclass(frozen=True, eq=False)
class Scenes:
    """One sketch or several of one picture size, each with the range of cells around a place."""

    cells: Cells
    around: Cells
    """The greatest of the cells around each place."""

    @classmethod
    def of(cls, sketches: Sequence[Sketch]) -> Self:
        """Prepare sketches, one or more, for comparison."""
        cells = np.stack(sketches)
        cells = np.stack([cells, ~cells], axis=1)
        return cls(cells, _greatest_around(cells))

    @classmethod
    def together(cls, scenes: Sequence[Scenes]) -> Self:
        """Single scenes as several."""
        return cls(
            np.stack([scene.cells for scene in scenes]),
            np.stack([scene.around for scene in scenes]),
        )

    def __getitem__(self, chosen: int | slice) -> Scenes:
        """One of several, or some of them."""
        return Scenes(self.cells[chosen], self.around[chosen])

    @property
    def light(self) -> NDArray[np.float64]:
        """(...,) mean luma, in 8-bit code values."""
        result: NDArray[np.float64] = self.cells[..., 0, :, :].mean(axis=(-2, -1))
        return result


def row_differences(ones: Scenes, others: Scenes) -> NDArray[np.float32]:
    """(..., ROWS) mean of what motion does not explain along each row, in 8-bit code values.

    ones, others : equally many, or one and several. Symmetric; 0 for equal pictures.
    """
    outside = np.maximum(ones.cells, others.around)
    outside -= others.around
    reverse = np.maximum(others.cells, ones.around)
    reverse -= ones.around
    np.maximum(outside, reverse, out=outside)
    unexplained = np.maximum(outside[..., 0, :, :], outside[..., 1, :, :])
    sums = unexplained.sum(axis=-1, dtype=np.uint32)
    means: NDArray[np.float32] = (sums / unexplained.shape[-1]).astype(np.float32)
    return means


def _greatest_around(cells: Cells) -> Cells:
    """The greatest of the cells up to DOWN rows and ACROSS columns from each place."""
    scenes, sides, rows, columns = cells.shape
    wide = np.empty((scenes, sides, rows + 2 * DOWN, columns), np.uint8)
    inner = wide[:, :, DOWN:-DOWN]
    inner[...] = cells
    np.maximum(inner[..., 1:], cells[..., :-1], out=inner[..., 1:])
    np.maximum(inner[..., :-1], cells[..., 1:], out=inner[..., :-1])
    wide[:, :, :DOWN] = wide[:, :, DOWN : DOWN + 1]
    wide[:, :, -DOWN:] = wide[:, :, -DOWN - 1 : -DOWN]
    # Of two rows, of four, of seven.
    two = np.maximum(wide[:, :, :-1], wide[:, :, 1:])
    four = np.maximum(two[:, :, :-2], two[:, :, 2:])
    seven: Cells = np.maximum(four[:, :, :-DOWN], four[:, :, DOWN:])
    return seven
