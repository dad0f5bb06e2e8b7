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

from pacerail.detect.blocks import BLOCK_COLUMNS, RunSums
from pacerail.picture import Luma
from pacerail.region import Region

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


@dataclass(frozen=True, eq=False)
class Change:
    """Differences between a picture and the one before it."""

    strongest: float
    """Mean of the largest block differences."""
    blocks: NDArray[np.float32]
    """(bands, blocks) difference of each block."""
    bands: NDArray[np.float32]
    """(bands,) mean of the two largest block differences in each band of 8 rows."""
    levels: NDArray[np.float32]
    """(bands,) mean difference in each band; rows left over at the foot are one more."""
    extent: tuple[int, int, int, int]
    """First and end band, first and end block of what changed a quarter as much as the
    strongest, or more."""
    sums: NDArray[np.uint16]
    """(rows, blocks) summed difference of each block row; overwritten by the second next
    change."""
    scale: np.float32
    """Code values per unit of `sums`."""
    groups: int
    """Column groups, equal in width; up to `groups` - 1 blocks at the right are in none."""

    def row_energy(self) -> NDArray[np.float32]:
        """(groups, rows) root mean square block-row difference per column group.

        Most refreshes never need it; it must be asked for while `sums` still holds.
        """
        rows, blocks = self.sums.shape
        each = blocks // self.groups
        runs = self.sums[:, : each * self.groups].astype(np.float32)
        runs = runs.reshape(rows, self.groups, each)
        energy: NDArray[np.float32] = np.einsum("rgb,rgb->gr", runs, runs)
        energy *= self.scale**2 / np.float32(each)
        return np.sqrt(energy, out=energy)


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
        self._sums_of = RunSums(column_slice.stop - column_slice.start, bit_depth)
        self.blocks = self._sums_of.blocks
        self._scale = np.float32(2.0 ** (8 - bit_depth) / BLOCK_COLUMNS)
        self._sums_of_last = [np.empty((self.rows, self.blocks), np.uint16) for _ in range(2)]
        # Eight rows of 16 samples of 8 bits fit 16 bits, deeper ones do not.
        self._block_dtype = np.uint16 if bit_depth == 8 else np.uint32
        self._kept = _kept_blocks(rows, columns, self.window, self.blocks, ignore)
        self._groups = max(1, min(MAX_GROUPS, self.blocks // GROUP_BLOCKS))

    def measure(self, previous: Luma, current: Luma) -> Change:
        """Change from `previous` to `current`, both of the size given at the start."""
        self._sums_of_last.reverse()
        sums = self._sums_of_last[0]
        self._sums_of.absolute_difference(previous[self.window], current[self.window], sums)
        if self._kept is not None:
            np.multiply(sums, self._kept, out=sums)
        whole_bands = self.rows - self.rows % BAND_ROWS
        by_row = sums[:whole_bands].reshape(-1, BAND_ROWS, self.blocks)
        blocks = np.add.reduce(by_row, axis=1, dtype=self._block_dtype).astype(np.float32)
        blocks *= self._scale / BAND_ROWS
        # The largest of the picture are among the largest of the bands.
        count = min(STRONGEST_BLOCKS, self.blocks)
        largest = np.sort(np.partition(blocks, self.blocks - count, axis=1)[:, -count:], axis=1)
        strongest = np.sort(largest, axis=None)[-STRONGEST_BLOCKS:].mean()
        levels = np.add.reduce(blocks, axis=1) / self.blocks
        if whole_bands < self.rows:
            levels = np.append(levels, self._scale * np.mean(sums[whole_bands:], dtype=np.float32))
        return Change(
            strongest=float(strongest),
            blocks=blocks,
            bands=np.add.reduce(largest[:, -2:], axis=1) / min(count, 2),
            levels=levels,
            extent=_extent(blocks > float(strongest) / 4),
            sums=sums,
            scale=self._scale,
            groups=self._groups,
        )


def _extent(changed: NDArray[np.bool_]) -> tuple[int, int, int, int]:
    """Smallest box round what is true, as half-open bands and blocks; all 0 if nothing is."""
    bands = np.flatnonzero(changed.any(axis=1))
    if not len(bands):
        return 0, 0, 0, 0
    blocks = np.flatnonzero(changed[bands[0] : bands[-1] + 1].any(axis=0))
    return int(bands[0]), int(bands[-1]) + 1, int(blocks[0]), int(blocks[-1]) + 1


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
) -> NDArray[np.uint16] | None:
    """(rows, blocks) of ones, zero where a block row touches an ignored region."""
    if not ignore:
        return None
    row_slice, column_slice = window
    kept = np.ones((rows, columns), bool)
    for region in ignore:
        kept[region.slices(rows, columns)] = False
    inside = kept[row_slice, column_slice][:, : blocks * BLOCK_COLUMNS]
    whole: NDArray[np.bool_] = np.all(inside.reshape(-1, blocks, BLOCK_COLUMNS), axis=2)
    return whole.astype(np.uint16)
