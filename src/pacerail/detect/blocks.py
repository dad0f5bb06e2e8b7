"""Sums of luma samples and of their differences over short runs, at memory speed.

A run is 16 samples of one row. Samples are subtracted as they are and summed in packed
words, several to a word, so that no picture is ever widened.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pacerail.picture import Luma

BLOCK_COLUMNS = 16
"""Samples of a run. Its sum fits a 16 bit lane for samples of up to 12 bits."""

_SLICE_ROWS = 180  # rows worked on at a time: the buffers then stay in the cache
_SUM_LANES = np.uint64(0x0001_0001_0001_0001)


class RunSums:
    """Sums runs of pictures up to one width; reuses its buffers."""

    def __init__(self, columns: int, bit_depth: int) -> None:
        self.blocks = columns // BLOCK_COLUMNS
        self._columns = self.blocks * BLOCK_COLUMNS
        dtype = np.uint8 if bit_depth == 8 else np.uint16
        self._samples = np.empty((_SLICE_ROWS, self._columns), dtype)
        self._lowest = np.empty_like(self._samples)
        self._pairs = np.empty((_SLICE_ROWS, self._columns // 2), np.uint16)
        self._packed = np.empty((_SLICE_ROWS, self.blocks), np.uint64)

    def absolute_difference(self, a: Luma, b: Luma, out: NDArray[np.uint16]) -> None:
        """Fill `out`, shape (rows, blocks), with the sums of abs(a - b) over each run.

        a, b : shape (rows, columns); columns beyond the last whole run are left out.
        """
        for start in range(0, len(out), _SLICE_ROWS):
            rows = slice(start, min(start + _SLICE_ROWS, len(out)))
            difference = self._samples[: rows.stop - start]
            lowest = self._lowest[: rows.stop - start]
            left, right = a[rows, : self._columns], b[rows, : self._columns]
            np.maximum(left, right, out=difference)
            np.minimum(left, right, out=lowest)
            np.subtract(difference, lowest, out=difference)
            self._sum(difference, out[rows])

    def sums(self, picture: Luma) -> NDArray[np.uint16]:
        """(rows, blocks) sums of the samples of each run of up to 180 rows."""
        samples = self._samples[: len(picture)]
        samples[...] = picture[:, : self._columns]
        out = np.empty((len(picture), self.blocks), np.uint16)
        self._sum(samples, out)
        return out

    def _sum(self, samples: Luma, out: NDArray[np.uint16]) -> None:
        """Sums over runs; the samples are used up."""
        packed = self._packed[: len(samples)]
        if samples.dtype == np.uint8:
            pairs = self._pairs[: len(samples)]
            lanes = samples.view(np.uint16)
            np.bitwise_and(lanes, np.uint16(255), out=pairs)
            np.right_shift(lanes, np.uint16(8), out=lanes)
            np.add(pairs, lanes, out=pairs)
            words = pairs.view(np.uint64)
            np.add(words[:, 0::2], words[:, 1::2], out=packed)
        else:
            words = samples.view(np.uint64)
            np.add(words[:, 0::4], words[:, 1::4], out=packed)
            np.add(packed, words[:, 2::4], out=packed)
            np.add(packed, words[:, 3::4], out=packed)
        # The product's top lane is the sum of the four lanes; none can overflow.
        np.multiply(packed, _SUM_LANES, out=packed)
        out[...] = packed.view(np.uint16)[:, 3::4]
