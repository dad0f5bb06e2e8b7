"""Whether what changed kept its texture, as things that move do.

What moves takes its texture along: what the blocks that changed most lose of it they gain
again. Coding that comes late to a held picture adds detail or takes it away, so their texture
grows or shrinks by as much as they change. The two are alike in size, but not in this.
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import as_strided
from numpy.typing import NDArray

from pacerail.detect.blocks import BLOCK_COLUMNS
from pacerail.detect.change import BAND_ROWS, Change
from pacerail.picture import Luma

LOOKED_AT = 2
"""Blocks of each band: those that its change is taken from."""
EVEN_GAIN = 0.4
"""Gain of texture, as a share of the change, that comes as often with motion as with a held
picture: of changes of one size, with gains below 0.1 motion is two to four times as frequent as
on average, with gains above 1 a held picture is, and far more so if the change is large (260
clips)."""
MOST_OCTAVES, LEAST_OCTAVES = 1.0, -0.75
"""By so much a change may count for more, or for less."""
LEAST_CHANGE = 0.2
"""Code values: of a smaller change texture says nothing."""
ROUNDING = 0.05
"""Variance, in code values, that rounding of both pictures leaves to chance."""

_SMALLEST_GAIN = 1e-3


def motion_octaves(previous: Luma, current: Luma, change: Change) -> NDArray[np.float64]:
    """(bands,) octaves by which each band's change counts for more or less than its size says.

    previous, current : (rows, columns) of the window that was compared.
    change : from `previous` to `current`.
    """
    block = _strongest_blocks(change.blocks)
    code_values = np.float32(change.scale * BLOCK_COLUMNS)
    before, after = (_samples(picture, block) * code_values for picture in (previous, current))
    noise = before[0].size * ROUNDING
    gain = (_texture(after) - _texture(before)) / (_texture(after - before) + noise)
    octaves = np.log2(EVEN_GAIN / (np.abs(gain) + _SMALLEST_GAIN)) / 2
    is_seen = change.blocks.max(axis=1) > LEAST_CHANGE
    return np.where(is_seen, np.clip(octaves, LEAST_OCTAVES, MOST_OCTAVES), 0.0)


def _strongest_blocks(change: NDArray[np.float32]) -> NDArray[np.int64]:
    """(bands, count) numbers of the blocks of each band that changed most."""
    left, band = change.copy(), np.arange(len(change))
    chosen = []
    for _ in range(min(LOOKED_AT, change.shape[1])):
        chosen.append(left.argmax(axis=1))
        left[band, chosen[-1]] = -1
    return np.stack(chosen, axis=1)


def _samples(picture: Luma, block: NDArray[np.int64]) -> NDArray[np.float32]:
    """(bands, count, n) samples of the given (bands, count) blocks."""
    down, across = picture.strides
    bands, blocks = len(block), picture.shape[1] // BLOCK_COLUMNS
    # A view, of windows too, that are not contiguous.
    parted = as_strided(
        picture,
        (bands, BAND_ROWS, blocks, BLOCK_COLUMNS),
        (BAND_ROWS * down, down, BLOCK_COLUMNS * across, across),
        writeable=False,
    )
    samples: NDArray[np.float32] = parted[np.arange(bands)[:, None], :, block].astype(np.float32)
    return samples.reshape(*block.shape, -1)


def _texture(samples: NDArray[np.float32]) -> NDArray[np.float32]:
    """(bands,) squared distance of samples from the mean of their block, (bands, count, n)."""
    total = samples.sum(axis=2)
    energy = np.einsum("bcn,bcn->b", samples, samples)
    texture: NDArray[np.float32] = energy - (total**2).sum(axis=1) / samples.shape[2]
    return texture
