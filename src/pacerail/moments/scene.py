"""How far two pictures are from showing the same scene, whatever has moved in between.

A cell of one thumbnail that lies within the range of the cells around its place in the other
may have moved there: only what no near cell explains counts. Motion, however fast, thus
weighs little from one refresh to the next, while another scene weighs much.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacerail.moments.look import Thumbnail

DOWN, ACROSS = 4, 1
"""Cells around a place within which something may have moved, 6 % of the picture each way. (Our
choice: within 1/60 s the fastest shot of the demo moves by 1 %.)"""


@dataclass(frozen=True, eq=False)
class Scene:
    """A thumbnail with the range of cells around every place."""

    thumbnail: Thumbnail
    low: Thumbnail
    high: Thumbnail


def scene_of(thumbnail: Thumbnail) -> Scene:
    """Prepare a thumbnail for comparison."""
    return Scene(
        thumbnail,
        low=_around(thumbnail, np.minimum),
        high=_around(thumbnail, np.maximum),
    )


def row_difference(one: Scene, other: Scene) -> NDArray[np.float32]:
    """(ROWS,) mean of what motion does not explain along each row, in 8-bit code values.

    Symmetric; 0 for equal pictures.
    """
    unexplained = np.maximum(_outside(one, other), _outside(other, one))
    result: NDArray[np.float32] = unexplained.mean(axis=1)
    return result


def _outside(one: Scene, other: Scene) -> Thumbnail:
    """By how much each cell of `one` leaves the range of the cells around it in `other`."""
    below, above = other.low - one.thumbnail, one.thumbnail - other.high
    outside: Thumbnail = np.maximum(np.maximum(below, above), 0)
    return outside


def _around(thumbnail: Thumbnail, extreme: np.ufunc) -> Thumbnail:
    """The extreme of the cells around each place, edges repeated."""
    padded = np.pad(thumbnail, ((DOWN, DOWN), (ACROSS, ACROSS)), mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, (2 * DOWN + 1, 2 * ACROSS + 1))
    result: Thumbnail = extreme.reduce(windows, axis=(2, 3))
    return result
