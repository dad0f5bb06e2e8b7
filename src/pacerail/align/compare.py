"""Thumbnails made comparable: brightness, contrast and gamma taken out."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

# Standard deviation over the cells below which a picture counts as flat and is not stretched
# any further: 5 code values of 255. Coding noise of a cell stays below a tenth of that.
FLAT = 0.02


def standardised(frames: NDArray[np.float32], mask: NDArray[np.float32]) -> NDArray[np.float32]:
    """Frames of mean 0 and standard deviation 1 over the cells of the mask.

    frames : shape (n, rows, columns). mask : shape (rows, columns), 1 where cells count.
    A gamma that differs by a few percent is nearly a change of brightness and contrast.
    """
    centred = frames - mean_of(frames, mask)
    spread = np.sqrt(mean_of(centred * centred, mask))
    return (centred / np.maximum(spread, np.float32(FLAT))).astype(np.float32, copy=False)


def mean_of(frames: NDArray[np.float32], mask: NDArray[np.float32]) -> NDArray[np.float32]:
    """Mean over the cells of the mask, shape (n, 1, 1)."""
    total = np.einsum("nrc,rc->n", frames, mask)
    means: NDArray[np.float32] = (total / mask.sum())[:, None, None].astype(np.float32)
    return means
