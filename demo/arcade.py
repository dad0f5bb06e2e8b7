"""A flight through the lantern arcade: a hall in true perspective.

Every picture sample looks along one ray. The ray meets wall, floor or ceiling at depth
``z = 1 / max(abs(x), abs(y))``, with x and y from -1 to 1 across the picture, so flying
forward only shifts the texture along z. Where the ray lands is computed once; a picture
is one table look-up.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import skia
from numpy.typing import NDArray

from demo.canvas import Board, Rgba, box, fill, glow, gradient, image_of, mixed, polygon, stroke
from demo.scenery import Workshop
from demo.sky import SKY_STOPS

_BAYS = 2
_PERIOD_Z = 4.0
"""Depth after which the hall repeats, in half picture widths."""
_LENGTH = 2048
"""Texture samples along one period; a power of two, so that wrapping is a mask."""
_FAR_Z = 14.0
_BLURS = (1, 2, 4, 8)
"""Samples averaged each way per level, the next from one depth of `_LEVEL_Z` to another."""
_LEVEL_Z = (2.0, 4.0, 7.0)
_SWAY = 0.05
"""How far the flight drifts off the middle, as a share of the picture."""


class Arcade:
    """The hall for one picture size."""

    def __init__(self, workshop: Workshop, width: int, height: int) -> None:
        self._width, self._height = width, height
        margin_x, margin_y = math.ceil(width * _SWAY) + 1, math.ceil(height * _SWAY) + 1
        self._margin = margin_x, margin_y
        across = min(max(round(height * 0.7 * workshop.look.detail), 64), 512)
        surfaces = [
            workshop.finished(draw(across), _LENGTH, across) for draw in (_wall, _floor, _ceiling)
        ]
        atlas = np.concatenate(surfaces)
        levels = [_blurred(atlas, size, across) for size in _BLURS]
        self._texels = np.concatenate(levels).view(np.uint32).reshape(-1)
        x = (np.arange(-margin_x, width + margin_x) + 0.5) / width * 2 - 1
        y = (np.arange(-margin_y, height + margin_y) + 0.5) / height * 2 - 1
        ax, ay = np.abs(x)[None, :], np.abs(y)[:, None]
        nearest = np.maximum(np.maximum(ax, ay), 1 / _FAR_Z)
        z = (1 / nearest).astype(np.float32)
        on_wall = ax >= ay
        lateral = np.where(on_wall, y[:, None], x[None, :]) * z
        row = np.clip((lateral + 1) * 0.5 * across, 0, across - 1).astype(np.int32)
        surface = np.where(on_wall, 0, np.where(y[:, None] > 0, 1, 2))
        level = np.searchsorted(_LEVEL_Z, z)
        self._start = ((level * 3 + surface) * across + row).astype(np.int32) * _LENGTH
        self._along = (z / _PERIOD_Z * _LENGTH).astype(np.int32)
        self._haze = image_of(_haze(x, y))

    def paint(self, rgba: Rgba, canvas: Any, travelled: float, sway: tuple[float, float]) -> None:
        """Fill the picture.

        travelled : depth flown so far, in half picture widths.
        sway : from -1 to 1 each way, where the vanishing point has drifted to.
        """
        margin_x, margin_y = self._margin
        left = margin_x - round(sway[0] * (margin_x - 1))
        top = margin_y - round(sway[1] * (margin_y - 1))
        window = slice(top, top + self._height), slice(left, left + self._width)
        index = self._along[window] + np.int32(round(travelled / _PERIOD_Z * _LENGTH))
        index &= _LENGTH - 1
        index += self._start[window]
        np.take(self._texels, index, out=rgba.view(np.uint32)[..., 0], mode="clip")
        canvas.drawImage(self._haze, -left, -top)


def _blurred(atlas: Rgba, size: int, across: int) -> Rgba:
    """Box-averaged within each surface, so that distance does not sparkle."""
    if size == 1:
        return atlas
    samples = atlas.reshape(-1, across, _LENGTH, 4).astype(np.float32)
    along = np.mean([np.roll(samples, k, axis=2) for k in range(size)], axis=0)
    padded = np.pad(along, ((0, 0), (size // 2, size - 1 - size // 2), (0, 0), (0, 0)), "edge")
    mean = np.mean([padded[:, k : k + across] for k in range(size)], axis=0)
    blurred: Rgba = mean.reshape(atlas.shape).astype(np.uint8)
    return blurred


def _haze(x: NDArray[np.float64], y: NDArray[np.float64]) -> Rgba:
    """Evening light at the far end, growing with depth, and the setting sun in it."""
    nearness = np.maximum(np.abs(x)[None, :], np.abs(y)[:, None])
    z = 1 / np.maximum(nearness, 1 / _FAR_Z)
    alpha = np.clip((z - 1.6) / (_FAR_Z - 3.5), 0, 1) ** 0.85
    centre = np.exp(-((x[None, :] ** 2 + (y[:, None] * 0.7) ** 2) / 0.012))[..., None]
    tone = np.array([244, 150, 112]) * (1 - centre) + np.array([255, 226, 168]) * centre
    dark = np.clip(nearness - 0.72, 0, 1)
    alpha = np.maximum(alpha, dark * 0.8)
    tone = np.where(dark[..., None] > 0, np.array([18, 14, 42]), tone)
    rgba = np.empty((*alpha.shape, 4), np.uint8)
    rgba[..., :3] = tone * alpha[..., None]
    rgba[..., 3] = np.rint(alpha * 255)
    return rgba


def _board(across: int) -> Board:
    """A surface of 1000 units across and 4000 along."""
    board = Board(_LENGTH, across)
    board.canvas.scale(_LENGTH / 4000, across / 1000)
    return board


def _wall(across: int) -> Rgba:
    """Arches open to sea and sky between pillars with lanterns."""
    board = _board(across)
    canvas = board.canvas
    rng = np.random.default_rng(91)
    stops = [(0.0, "4b3560", 1.0), (0.6, "6d4a6c", 1.0), (1.0, "37284f", 1.0)]
    canvas.drawPaint(gradient((0, 0), (0, 1000), stops))
    for row in range(25):
        for k in range(50):
            stone = box(k * 80 + (row % 2) * 40, row * 40, 76, 36)
            canvas.drawRect(
                stone,
                fill(str(rng.choice(["b98296", "120e28", "8a6187"])), rng.uniform(0.05, 0.32)),
            )
    bay = 4000 / _BAYS / 2
    for k in range(_BAYS * 2):
        left, right = k * bay + 190, (k + 1) * bay - 190
        arch = skia.Path()
        arch.moveTo(left, 800)
        arch.lineTo(left, 420)
        arch.cubicTo(left, 130, right, 130, right, 420)
        arch.lineTo(right, 800)
        arch.close()
        canvas.drawPath(arch, stroke("221838", 44))
        canvas.drawPath(arch, stroke("e59a7c", 12, 0.8))
        canvas.save()
        canvas.clipPath(arch, doAntiAlias=True)
        canvas.drawPaint(gradient((0, -260), (0, 560), SKY_STOPS))
        canvas.drawRect(
            skia.Rect.MakeLTRB(left, 560, right, 800),
            gradient((0, 560), (0, 800), [(0, "e88f78", 1), (1, "5a4480", 1)]),
        )
        for _ in range(26):
            y = rng.uniform(566, 796)
            x = rng.uniform(left, right)
            canvas.drawLine(
                x, y, x + rng.uniform(20, 110), y, stroke("ffd9a0", 3, rng.uniform(0.2, 0.8))
            )
        mast = rng.uniform(left + 60, right - 60)
        canvas.drawLine(mast, 380, mast, 620, stroke("2a1d3d", 9))
        canvas.drawPath(
            polygon([(mast + 8, 400), (mast + 90, 590), (mast + 8, 590)]), fill("f0c1a2")
        )
        canvas.drawPath(
            polygon([(mast - 80, 610), (mast + 90, 610), (mast + 60, 650), (mast - 60, 650)]),
            fill("3a2448"),
        )
        canvas.restore()
        for y in (690, 800):
            canvas.drawLine(left, y, right, y, stroke("241a3c", 16))
        for post in np.linspace(left, right, 9)[1:-1].tolist():
            canvas.drawLine(post, 690, post, 800, stroke("241a3c", 12))
        for x in (k * bay, (k + 1) * bay):
            canvas.drawCircle(
                x,
                400,
                260,
                glow(x, 400, 260, [(0, "ffb35c", 0.75), (0.4, "ff9a4a", 0.25), (1, "ff8a3a", 0)]),
            )
            lamp = box(x - 36, 350, 72, 104)
            canvas.drawRRect(
                skia.RRect.MakeRectXY(lamp, 20, 20),
                glow(x, 404, 70, [(0, "fff6dc", 1), (1, "ffb862", 1)]),
            )
            canvas.drawRRect(skia.RRect.MakeRectXY(lamp, 20, 20), stroke("1a1230", 10))
    return board.rgba


def _floor(across: int) -> Rgba:
    """Setts with evening light lying through the arches."""
    board = _board(across)
    canvas = board.canvas
    rng = np.random.default_rng(92)
    canvas.drawPaint(fill("4b3558"))
    for row in range(16):
        for k in range(48):
            tone = str(rng.choice(["c78d86", "15102c", "7a5573", "e0a488"]))
            stone = box(k * 83.33 + 3, row * 62.5 + 3, 77, 56)
            canvas.drawRRect(
                skia.RRect.MakeRectXY(stone, 12, 12), fill(tone, rng.uniform(0.12, 0.5))
            )
    bay = 4000 / _BAYS / 2
    for k in range(_BAYS * 2):
        x = k * bay
        light = polygon([(x + 240, 0), (x + 760, 0), (x + 900, 1000), (x + 380, 1000)])
        canvas.drawPath(
            light, gradient((0, 0), (0, 1000), [(0, "ff9d68", 0.55), (1, "ff9d68", 0.28)])
        )
    return board.rgba


def _ceiling(across: int) -> Rgba:
    """Beams, with bunting in the harbour's colours."""
    board = _board(across)
    canvas = board.canvas
    rng = np.random.default_rng(93)
    canvas.drawPaint(fill("2b2045"))
    for k in range(24):
        y = k * 1000 / 24
        canvas.drawLine(0, y, 4000, y, stroke("120e28", 5, 0.8))
        for _ in range(9):
            x = rng.uniform(0, 3800)
            canvas.drawRect(
                box(x, y + 3, rng.uniform(80, 300), 36),
                fill("7a5573", rng.uniform(0.05, 0.3)),
            )
    for k in range(8):
        x = k * 500.0
        canvas.drawRect(
            box(x, 0, 90, 1000),
            gradient((x, 0), (x + 90, 0), [(0, "8b5a5f", 1), (1, "2a1c38", 1)]),
        )
        for n in range(12):
            hue = ("f1b56b", "c9535c", "7fb7b2", "f3e0c2")[n % 4]
            y = n * 1000 / 12
            flag = polygon([(x + 200, y + 8), (x + 200, y + 72), (x + 290, y + 40)])
            canvas.drawPath(flag, fill(mixed(hue, "2b2045", 0.25)))
        canvas.drawLine(x + 200, 0, x + 200, 1000, stroke("120e28", 8))
    return board.rgba
