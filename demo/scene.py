"""Tidewater Courier, first sketch."""

from __future__ import annotations

from fractions import Fraction

import numpy as np

from demo.simulator import PictureSource, Rgb


def scene_source(width: int, height: int, look: str = "merle") -> PictureSource:
    """The program's picture at a program time."""
    rng = np.random.default_rng(7)
    coarse = rng.integers(20, 200, (height // 8 + 1, width // 4 + 1, 4), np.uint8)
    tile = np.repeat(np.repeat(coarse, 8, 0), 8, 1)[:height]

    def draw(t: Fraction) -> Rgb:
        shift = int(t * width // 4) % (tile.shape[1] - width)
        return tile[:, shift : shift + width].copy()

    return draw
