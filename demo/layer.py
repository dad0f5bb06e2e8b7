"""Pre-drawn scenery that repeats sideways and scrolls at its own speed."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import skia

from demo.canvas import Rgba, image_of

_COPY = skia.Paint(BlendMode=skia.BlendMode.kSrc)
_BLEND = skia.Paint()
_NEAREST = skia.SamplingOptions()

# Scenery is cut into pieces of about this many pixels each way: empty ones are left
# out and solid ones copied, which costs a sixth of blending. Small enough to follow
# a roof line, large enough that calls cost less than pixels.
_PIECE = 48


class Layer:
    """A band of scenery, painted by copying whole pixels, which is all that is fast.

    Slow layers carry copies shifted by a fraction of a pixel, so that they still glide.
    """

    def __init__(self, rgba: Rgba, top: float, depth: float, *, phases: int = 1) -> None:
        """Cut into pieces.

        rgba : premultiplied, one period wide.
        top : row of the picture at which its first row lies while the camera is level.
        depth : share of the camera's movement that it follows: small is far away.
        """
        self.depth = depth
        self._top = top
        self._period = rgba.shape[1]
        self._pieces = [_cut(_moved_left(rgba, k / phases)) for k in range(phases)]

    def paint(self, canvas: Any, width: int, camera: tuple[float, float]) -> None:
        """Paint across a canvas of that width, in pixels, for a camera position in pixels."""
        top = math.floor(self._top - camera[1] * self.depth + 0.5)
        phases = len(self._pieces)
        step = math.floor(camera[0] * self.depth * phases) % (self._period * phases)
        start = -(step // phases)
        for x, y, piece, paint in self._pieces[step % phases]:
            left = start + x
            if left + piece.width() <= 0:
                left += self._period
            while left < width:
                canvas.drawImage(piece, left, top + y, _NEAREST, paint)
                left += self._period


def _cut(rgba: Rgba) -> list[tuple[int, int, Any, Any]]:
    """(x, y, image, paint) of every piece that shows anything, neighbours of a kind joined."""
    rows, columns, _ = rgba.shape
    pieces = []
    for y in range(0, rows, _PIECE):
        alpha = rgba[y : y + _PIECE, :, 3]
        xs = np.arange(0, columns, _PIECE)
        shown = np.maximum.reduceat(alpha.max(axis=0), xs) > 0
        solid = np.minimum.reduceat(alpha.min(axis=0), xs) == 255
        kind = shown.astype(int) + solid
        starts = np.flatnonzero(np.diff(kind, prepend=-1))
        ends = np.append(starts[1:], len(xs))
        for first, end in zip(starts.tolist(), ends.tolist(), strict=True):
            if kind[first]:
                is_solid = kind[first] == 2
                part = rgba[y : y + _PIECE, first * _PIECE : end * _PIECE]
                image = image_of(part, opaque=is_solid)
                pieces.append((first * _PIECE, y, image, _COPY if is_solid else _BLEND))
    return pieces


def _moved_left(rgba: Rgba, share: float) -> Rgba:
    """The band moved left by part of a pixel, by mixing neighbours."""
    if share == 0:
        return rgba
    weight = round(share * 256)
    mixed = rgba.astype(np.uint16) * (256 - weight)
    mixed += np.roll(rgba, -1, axis=1).astype(np.uint16) * weight
    return (mixed >> 8).astype(np.uint8)
