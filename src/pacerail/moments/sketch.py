"""Sketches: so few samples of each picture that they cost next to nothing, enough to tell scenes.

A cell of a sketch is the mean of samples of two lines, taken at even distances all across
it, so that no thin thing slips between them. Rows of cells stay apart, because the display
scans them one after another and a cut that comes without sync shows on the lower ones first.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pacerail.picture import Luma
from pacerail.region import Region

ROWS, LEAST_COLUMNS = 45, 32
"""Cells of a sketch, 24 lines of 1080 high; up to twice as many across, so that samples lie
a whole number of picture columns apart, and fewer only where there are not samples enough."""

Sketch = NDArray[np.uint8]
"""uint8, shape (ROWS, columns), mean of the samples of each cell in 8-bit code values."""

# Taken of a cell, in as little time as possible. (Measured on the demo at 720 lines: cuts between
# its most similar views stand out 3.5 times from the motion around them, with all lines of
# cells of 15 of 1080 lines 4.4 to 4.9 times. All cuts are found either way.)
_LINES, _SAMPLES = 2, 8

# Samples of a line of a cell fill a word. It is summed in lanes of two bytes.
_EVEN_BYTES = np.uint64(0x00FF_00FF_00FF_00FF)
_BYTE = np.uint64(8)
# The product's top lane is the sum of the four lanes times 16, so its top byte is the mean of
# 16 samples; none can overflow.
_MEAN_OF_LANES = np.uint64(0x0010_0010_0010_0010)


class Sketcher:
    """Sketches pictures of one size and depth.

    Only the watched region is seen, and of ignored ones nothing. A watched region too narrow
    for a cell is widened to that.
    """

    def __init__(
        self,
        luma: Luma,
        bit_depth: int,
        watch: Region | None = None,
        ignore: Sequence[Region] = (),
    ) -> None:
        self._shape, self._bit_depth = luma.shape, bit_depth
        rows, columns = luma.shape
        down, across = (watch or Region(0, 0, 1, 1)).slices(rows, columns)
        left = min(across.start, max(columns - _SAMPLES, 0))
        width = max(across.stop - left, _SAMPLES)
        step = max(width // (LEAST_COLUMNS * _SAMPLES), 1)
        cells = width // (step * _SAMPLES)
        first = left + step // 2
        self._columns = slice(first, first + cells * _SAMPLES * step, step)
        height, lines = down.stop - down.start, ROWS * _LINES
        self._lines = down.start + (2 * np.arange(lines) + 1) * height // (2 * lines)
        self._kept: Sketch | None = None
        if ignore:
            kept = np.full((rows, columns), 1 << (bit_depth - 8), luma.dtype)
            for region in ignore:
                kept[region.slices(rows, columns)] = 0
            self._kept = self._means(kept)

    def fits(self, luma: Luma, bit_depth: int) -> bool:
        """Whether a picture is of that size and depth."""
        return luma.shape == self._shape and bit_depth == self._bit_depth

    def take(self, luma: Luma) -> Sketch:
        """The sketch of a picture of that size and depth."""
        means = self._means(luma)
        return means if self._kept is None else means * self._kept

    def _means(self, luma: Luma) -> Sketch:
        samples = luma[:, self._columns][self._lines]
        if self._bit_depth > 8:
            samples = (samples >> (self._bit_depth - 8)).astype(np.uint8)
        words = samples.view(np.uint64)
        lanes = words >> _BYTE
        lanes &= _EVEN_BYTES
        words &= _EVEN_BYTES
        lanes += words
        packed = lanes[0::2] + lanes[1::2]
        packed *= _MEAN_OF_LANES
        means: Sketch = packed.view(np.uint8)[:, 7::8]
        return means
