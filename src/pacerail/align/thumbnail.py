"""Pictures reduced to thumbnails that no longer know their size, and black bars left out.

A thumbnail is the mean luma of a fixed grid of cells laid over the active picture. Averaging
takes away coding noise and detail that differs between machines; what moves stays visible to
a small share of a cell.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pacerail.picture import Luma

ROWS, COLUMNS = 18, 32
"""Cells of a thumbnail: square ones on a 16:9 picture."""
Thumbnail = NDArray[np.float32]
"""float32, shape (ROWS, COLUMNS), mean luma of each cell as a share of full code, 0 to 1."""

# Samples taken along each side of a cell; more only cost time. (Swept: the offsets found from
# 1080-line captures stop changing at 6.)
_CELL_SAMPLES = 8
# Bars are flat and stay: code values (8 bits) that their samples may spread over, all glimpses
# together. Lossy coding reaches 3 on black; footage that stays so flat is no loss.
_BAR_SPREAD = 8
# Bars are dark: narrow-range black is 16 (ITU-R BT.709), with room for a brightness control.
_BAR_LEVEL = 40
# A film of 2.76:1 on a picture of 4:3 leaves bars of a quarter on either side; with more than
# this the flat rows are taken for footage.
_WIDEST_BAR = 0.3


@dataclass(frozen=True)
class ActiveArea:
    """The part of a picture inside its bars, as shares of its height and width."""

    top: float = 0.0
    bottom: float = 1.0
    left: float = 0.0
    right: float = 1.0


def active_area(glimpses: Iterable[tuple[Luma, int]]) -> ActiveArea:
    """The picture without black bars, from pictures all over a capture.

    glimpses : luma, shape (rows, columns), and its bit depth. Of pictures that differ in size
        only those of the first one's size count.
    """
    low: NDArray[np.float32] | None = None
    for luma, bit_depth in glimpses:
        codes = luma.astype(np.float32) / np.float32(1 << (bit_depth - 8))
        if low is None:
            low, high = codes, codes
        elif codes.shape == low.shape:
            low, high = np.minimum(low, codes), np.maximum(high, codes)
    if low is None:
        return ActiveArea()
    edges = []
    for axis in (1, 0):
        darkest, brightest = low.min(axis=axis), high.max(axis=axis)
        flat = (brightest - darkest <= _BAR_SPREAD) & (brightest <= _BAR_LEVEL)
        length = len(flat)
        first, last = _run(flat), length - _run(flat[::-1])
        if max(first, length - last) > _WIDEST_BAR * length:
            first, last = 0, length
        edges += [first / length, last / length]
    return ActiveArea(*edges)


def _run(flags: NDArray[np.bool_]) -> int:
    """How many are set from the start on."""
    return int(len(flags) if flags.all() else np.argmin(flags))


@dataclass(frozen=True)
class Reducer:
    """Makes thumbnails of pictures of one size."""

    rows: int
    columns: int
    bit_depth: int
    area: ActiveArea

    def thumbnail(self, luma: Luma) -> Thumbnail:
        """Mean luma of the cells of a picture of shape (rows, columns)."""
        down, across = self._axes
        samples = luma[down.step // 2 :: down.step, across.step // 2 :: across.step]
        means = cell_means(cell_means(samples, down.edges).T, across.edges).T
        return means / np.float32(1 << self.bit_depth)

    @cached_property
    def _axes(self) -> tuple[_Axis, _Axis]:
        area = self.area
        return (
            _axis(self.rows, area.top, area.bottom, ROWS),
            _axis(self.columns, area.left, area.right, COLUMNS),
        )


@dataclass(frozen=True, eq=False)
class _Axis:
    step: int
    """Every so many-th sample is taken, from the middle of each step."""
    edges: NDArray[np.float64]
    """Edges of the cells, in samples taken."""


def _axis(length: int, start: float, end: float, cells: int) -> _Axis:
    step = max(int(length * (end - start)) // (cells * _CELL_SAMPLES), 1)
    edges = length * (start + (end - start) * np.arange(cells + 1) / cells) / step
    return _Axis(step, np.minimum(edges, len(range(step // 2, length, step))))


def cell_means(samples: NDArray[Any], edges: NDArray[np.float64]) -> NDArray[np.float32]:
    """Means of the rows between edges, shape (cells, columns).

    samples : shape (rows, columns). edges : ascending, in rows; a row that an edge goes
    through counts for both cells in part. (Sums rather than a matrix product: one that small
    is slower on several threads than on one.)
    """
    sums = np.zeros((samples.shape[0] + 1, samples.shape[1]), np.float32)
    np.cumsum(samples, axis=0, dtype=np.float32, out=sums[1:])
    whole = np.minimum(edges.astype(np.intp), samples.shape[0] - 1)
    part = (edges - whole).astype(np.float32)[:, None]
    at_edges = sums[whole] * (1 - part) + sums[whole + 1] * part
    means: NDArray[np.float32] = np.diff(at_edges, axis=0)
    return means / np.diff(edges).astype(np.float32)[:, None]
