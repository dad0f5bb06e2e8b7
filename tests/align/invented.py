"""Signatures without any file: smooth random content, read by frames of any timing."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from pacerail.align.signature import Signature
from pacerail.align.thumbnail import COLUMNS, ROWS

Content = Callable[[NDArray[np.float64]], NDArray[np.float64]]
"""Thumbnails at content times in seconds, shape (n, ROWS, COLUMNS), 0 to 1."""


def drifting_blobs(seed: int, blobs: int = 12) -> Content:
    """Soft blobs that wander over the picture, each on a path of its own."""
    rng = np.random.default_rng(seed)
    speed, phase = rng.uniform(0.3, 1.3, (2, blobs, 1)), rng.uniform(0, 6.3, (2, blobs, 1))
    level, width = rng.uniform(-1, 1, blobs), rng.uniform(0.05, 0.12, blobs)
    y, x = (np.mgrid[:ROWS, :COLUMNS] + 0.5) / np.array([ROWS, COLUMNS])[:, None, None]

    def draw(moments_s: NDArray[np.float64]) -> NDArray[np.float64]:
        place_y, place_x = 0.5 + 0.45 * np.sin(speed * moments_s + phase)
        picture = np.full((len(moments_s), ROWS, COLUMNS), 0.5)
        for blob in range(blobs):
            distance = (y - place_y[blob][:, None, None]) ** 2
            distance = distance + (x - place_x[blob][:, None, None]) ** 2
            picture += 0.2 * level[blob] * np.exp(-distance / (2 * width[blob] ** 2))
        clipped: NDArray[np.float64] = np.clip(picture, 0, 1)
        return clipped

    return draw


def recorded(
    content: Content,
    start_s: float,
    length_s: float,
    *,
    fps: float = 60.0,
    clock: float = 1.0,
    gamma: float = 1.0,
    gain: float = 1.0,
    noise: float = 0.0,
    seed: int = 0,
) -> Signature:
    """A capture of content from `start_s` on; its clock runs `clock` times as fast."""
    time_s = np.arange(0, length_s, 1 / fps)
    frames = gain * content(start_s + time_s / clock) ** gamma
    frames += noise * np.random.default_rng(seed).standard_normal(frames.shape)
    kept = np.rint(np.clip(frames, 0, 1) * 65535).astype(np.uint16)
    return Signature(time_s, kept, length_s, Fraction(60))
