"""From drawing commands to a band of scenery: scale, grain and the grading of a look."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from demo.canvas import Board, Rgba, resized, smooth_noise
from demo.looks import Look

Draw = Callable[[Any], None]
"""Draws on a canvas in design units."""

# BT.709 luma weights: grey that grading pulls colours towards.
_LUMA = np.array([0.2126, 0.7152, 0.0722], np.float32)


@dataclass(frozen=True)
class Workshop:
    """Where scenery is made: pixels per design unit and the look it is made for."""

    scale: float
    look: Look

    def band(
        self, width: float, height: float, draw: Draw, *, grain: float = 0.0, seed: int = 0
    ) -> Rgba:
        """Draw a band of that size in design units; grain is the depth of its texture."""
        columns, rows = round(width * self.scale), round(height * self.scale)
        detail = self.look.detail
        board = Board(round(columns * detail), round(rows * detail), self.scale * detail)
        draw(board.canvas)
        rgba = board.rgba
        if grain:
            rgba = _textured(rgba, grain * self.look.grain, seed)
        return self.finished(rgba, columns, rows)

    def finished(self, rgba: Rgba, columns: int, rows: int) -> Rgba:
        """Graded, and brought to its size on screen."""
        graded = _graded(rgba, self.look)
        if graded.shape[:2] == (rows, columns):
            return graded
        return resized(graded, columns, rows)


def _textured(rgba: Rgba, depth: float, seed: int) -> Rgba:
    """Roughened with fine and coarse grain, where anything is drawn."""
    rows, columns = rgba.shape[:2]
    noise = 0.6 * smooth_noise(rows, columns, seed, slope=0.35)
    noise += 0.4 * smooth_noise(rows, columns, seed + 1, slope=1.1)
    return _clipped(rgba, rgba[..., :3] * (1 + depth * noise)[..., None])


def _graded(rgba: Rgba, look: Look) -> Rgba:
    if look.saturation == look.contrast == 1.0:
        return rgba
    rgb = rgba[..., :3].astype(np.float32)
    grey = (rgb @ _LUMA)[..., None]
    middle = rgba[..., 3:].astype(np.float32) * 0.4
    rgb = (grey + (rgb - grey) * look.saturation - middle) * look.contrast + middle
    return _clipped(rgba, rgb)


def _clipped(rgba: Rgba, rgb: NDArray[np.float32]) -> Rgba:
    """New colours under the same alpha, kept within it as premultiplied samples must be."""
    result = rgba.copy()
    result[..., :3] = np.clip(rgb + 0.5, 0, rgba[..., 3:])
    return result
