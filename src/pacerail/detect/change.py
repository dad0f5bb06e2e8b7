"""How much two successive pictures differ, block by block.

Differences are mean absolute luma differences in 8-bit code values, whatever the bit
depth. A held picture of a lossy capture is never identical to the one before, and a
new frame may change only one small thing, so the mean over the picture says little:
what separates the two is the largest differences of small blocks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacerail.picture import Luma
from pacerail.region import Region

BLOCK_COLUMNS = 16
"""Columns of a block: one cache-friendly sum of packed differences."""
BAND_ROWS = 8
"""Rows of a block and of a band: the transform size of the common codecs."""
STRONGEST_BLOCKS = 4
"""Blocks averaged into the strongest change. One alone is at the mercy of a single
badly coded block, sixteen hide a moving thing of a few dozen pixels (swept over 1 to 32
on H.264, HEVC and AV1 clips: 2 to 8 are alike)."""
GROUP_BLOCKS = 4
"""Fewest blocks in a column group; a group must average over a few textures."""
MAX_GROUPS = 8
"""Column groups that vote on a tear; more cost time and carry less texture each."""

_SLICE_ROWS = 180  # rows worked on at a time: the buffers then stay in the cache
_SUM_LANES = np.uint64(0x0001_0001_0001_0001)


@dataclass(frozen=True, eq=False)
class Change:
    """Differences between a picture and the one before it."""

    strongest: float
    """Mean of the largest block differences."""
    bands: NDArray[np.float32]
    """(bands,) mean of the two largest block differences in each band of 8 rows."""
    row_energy: NDArray[np.float32]
    """(groups, rows) root mean square block-row difference per column group."""


class ChangeMeter:
    """Measures changes between pictures of one size; reuses its buffers.

    Only the watched region counts, and nothing inside the ignored ones. A watched region
    narrower than one block or lower than one band is widened to that.
    """

    def __init__(
        self,
        rows: int,
        columns: int,
        bit_depth: int,
        watch: Region | None = None,
        ignore: Sequence[Region] = (),
    ) -> None:
        self.window = _window(rows, columns, watch)
        row_slice, column_slice = self.window
        self.rows = row_slice.stop - row_slice.start
        self.blocks = (column_slice.stop - column_slice.start) // BLOCK_COLUMNS
        self.columns = self.blocks * BLOCK_COLUMNS
        self.scale = np.float32(2.0 ** (8 - bit_depth) / BLOCK_COLUMNS)
        dtype = np.uint8 if bit_depth == 8 else np.uint16
        self._difference = np.empty((_SLICE_ROWS, self.columns), dtype)
        self._lowest = np.empty_like(self._difference)
        self._pairs = np.empty((_SLICE_ROWS, self.columns // 2), np.uint16)
        self._packed = np.empty((_SLICE_ROWS, self.blocks), np.uint64)
        self._sums = np.empty((self.rows, self.blocks), np.float32)
        self._kept = _kept_blocks(rows, columns, self.window, self.blocks, ignore)
        groups = max(1, min(MAX_GROUPS, self.blocks // GROUP_BLOCKS))
        self._group_starts = np.linspace(0, self.blocks, groups, endpoint=False).astype(int)
        self._group_sizes = np.diff(np.append(self._group_starts, self.blocks))

    def measure(self, previous: Luma, current: Luma) -> Change:
        """Change from `previous` to `current`, both of the size given at the start."""
        self._sum_blocks(previous[self.window], current[self.window])
        whole_bands = self.rows - self.rows % BAND_ROWS
        blocks = self._sums[:whole_bands].reshape(-1, BAND_ROWS, self.blocks).mean(axis=1)
        count = min(STRONGEST_BLOCKS, blocks.size)
        strongest = np.partition(blocks, blocks.size - count, axis=None)[-count:].mean()
        top = np.partition(blocks, -min(2, self.blocks), axis=1)[:, -2:].mean(axis=1)
        energy = np.add.reduceat(np.square(self._sums), self._group_starts, axis=1)
        energy /= self._group_sizes
        return Change(float(strongest), top, np.ascontiguousarray(np.sqrt(energy).T))

    def _sum_blocks(self, previous: Luma, current: Luma) -> None:
        """Fill `_sums` with the mean absolute difference of every block row."""
        for start in range(0, self.rows, _SLICE_ROWS):
            stop = min(start + _SLICE_ROWS, self.rows)
            count = stop - start
            difference, lowest = self._difference[:count], self._lowest[:count]
            a = previous[start:stop, : self.columns]
            b = current[start:stop, : self.columns]
            np.maximum(a, b, out=difference)
            np.minimum(a, b, out=lowest)
            np.subtract(difference, lowest, out=difference)
            packed = self._packed[:count]
            if difference.dtype == np.uint8:
                pairs = self._pairs[:count]
                lanes = difference.view(np.uint16)
                np.bitwise_and(lanes, np.uint16(255), out=pairs)
                np.right_shift(lanes, np.uint16(8), out=lanes)
                np.add(pairs, lanes, out=pairs)
                words = pairs.view(np.uint64)
                np.add(words[:, 0::2], words[:, 1::2], out=packed)
            else:
                words = difference.view(np.uint64)
                np.add(words[:, 0::4], words[:, 1::4], out=packed)
                np.add(packed, words[:, 2::4], out=packed)
                np.add(packed, words[:, 3::4], out=packed)
            # The product's top lane is the sum of the four lanes; none can overflow.
            np.multiply(packed, _SUM_LANES, out=packed)
            np.multiply(packed.view(np.uint16)[:, 3::4], self.scale, out=self._sums[start:stop])
        if self._kept is not None:
            np.multiply(self._sums, self._kept, out=self._sums)


def _window(rows: int, columns: int, watch: Region | None) -> tuple[slice, slice]:
    """Rows and columns of the watched region, at least one band and one block in size."""
    if watch is None:
        return slice(0, rows), slice(0, columns)
    row_slice, column_slice = watch.slices(rows, columns)
    top = min(row_slice.start, max(rows - BAND_ROWS, 0))
    left = min(column_slice.start, max(columns - BLOCK_COLUMNS, 0))
    return (
        slice(top, max(row_slice.stop, top + BAND_ROWS)),
        slice(left, max(column_slice.stop, left + BLOCK_COLUMNS)),
    )


def _kept_blocks(
    rows: int,
    columns: int,
    window: tuple[slice, slice],
    blocks: int,
    ignore: Sequence[Region],
) -> NDArray[np.float32] | None:
    """(rows, blocks) of ones, zero where a block row touches an ignored region."""
    if not ignore:
        return None
    row_slice, column_slice = window
    kept = np.ones((rows, columns), bool)
    for region in ignore:
        kept[region.slices(rows, columns)] = False
    inside = kept[row_slice, column_slice][:, : blocks * BLOCK_COLUMNS]
    whole: NDArray[np.bool_] = np.all(inside.reshape(-1, blocks, BLOCK_COLUMNS), axis=2)
    return whole.astype(np.float32)
