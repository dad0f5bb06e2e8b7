"""Whether what changed kept its texture, as things that move do.

What moves takes its texture along: what the blocks that changed most lose of it they gain
again. Coding that comes late to a held picture adds detail or takes it away, so their texture
grows or shrinks by as much as they change. The two are alike in size, but not in this.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pacerail.detect.blocks import BLOCK_COLUMNS
from pacerail.detect.change import BAND_ROWS, Change
from pacerail.picture import Luma

LOOKED_AT = 2
"""Blocks of each band: those that its change is taken from."""
EVEN_GAIN = 0.4
"""Gain of texture, as a share of the change, that comes as often with motion as with a held
picture: of changes of one size, with gains below 0.1 motion is two to four times as frequent as
on average, with gains above 1 a held picture is, and far more so if the change is large (180
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
    blocks = change.blocks.shape[1]
    count = min(LOOKED_AT, blocks)
    block = np.argpartition(change.blocks, blocks - count, axis=1)[:, -count:]
    code_values = float(change.scale) * BLOCK_COLUMNS
    before, after = (_samples(picture, block) * code_values for picture in (previous, current))
    noise = count * before.shape[-1] * ROUNDING
    gain = (_texture(after) - _texture(before)) / (_texture(after - before) + noise)
    octaves = np.log2(EVEN_GAIN / (np.abs(gain) + _SMALLEST_GAIN)) / 2
    is_seen = change.blocks.max(axis=1) > LEAST_CHANGE
    return np.where(is_seen, np.clip(octaves, LEAST_OCTAVES, MOST_OCTAVES), 0.0)


def _samples(picture: Luma, block: NDArray[np.int64]) -> NDArray[np.float64]:
    """(bands, count, n) samples of the given (bands, count) blocks."""
    row = np.arange(len(block) * BAND_ROWS).reshape(-1, 1, BAND_ROWS, 1)
    column = block[..., None, None] * BLOCK_COLUMNS + np.arange(BLOCK_COLUMNS)
    samples: NDArray[np.float64] = picture[row, column].astype(np.float64)
    return samples.reshape(*block.shape, -1)


def _texture(samples: NDArray[np.float64]) -> NDArray[np.float64]:
    """(bands,) squared distance of samples from the mean of their block, (bands, blocks, n)."""
    deviation = samples - samples.mean(axis=2, keepdims=True)
    energy: NDArray[np.float64] = np.einsum("abn,abn->a", deviation, deviation)
    return energy
