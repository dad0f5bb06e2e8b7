"""The mast of the mail boat at dusk, drawn as programs draw that do not smooth edges.

Drawn at a share of the size and enlarged, as a machine does that cannot afford every pixel:
steps along its spars then tell at what size.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any

import skia

from demo.canvas import DESIGN_HEIGHT, Board, box, colour, gradient, polygon, resized
from demo.simulator import PictureSource, Rgb

DURATION_S = Fraction(1)
FRAMES_PER_S = 30

_SKY = ((0.0, "2b2350", 1.0), (0.55, "b0587a", 1.0), (0.8, "f0a070", 1.0), (1.0, "ffd9a0", 1.0))
_WOOD, _ROPE, _SAIL, _SHADE, _FLAG = "2a1a26", "1d1420", "f3e3cf", "d8b9a8", "c33d45"


def mast_source(width: int, height: int, share: Fraction) -> PictureSource:
    """Pictures of that size, drawn at a share of it."""
    inner = round(width * share), round(height * share)

    def draw(program_s: Fraction) -> Rgb:
        board = Board(*inner, scale=inner[1] / DESIGN_HEIGHT)
        _paint(board.canvas, float(program_s))
        return board.rgba if inner == (width, height) else resized(board.rgba, width, height)

    return draw


def _plain(text: str) -> Any:
    """A paint that leaves every pixel either as it was or fully painted."""
    return skia.Paint(Color=colour(text), AntiAlias=False)


def _paint(canvas: Any, t: float) -> None:
    sky = gradient((0, 0), (0, DESIGN_HEIGHT), _SKY)
    sky.setAntiAlias(False)
    canvas.drawPaint(sky)
    canvas.drawCircle(420, 830, 92, _plain("ffe9c4"))
    for k in range(26):
        _ripple(canvas, k, t)
    _sail(canvas)
    # The mast leans a little, boom and gaff climb slowly: edges whose steps are long.
    _spar(canvas, (1010, 1080), (1046, 60), 34, 20)
    _spar(canvas, (980, 866), (1640, 788), 26, 22)
    _spar(canvas, (1030, 210), (1560, 118), 20, 14)
    for foot, top in ((180, 90), (620, 250), (1850, 90)):
        _rope(canvas, (foot, 1080), (1040, top))
    _pennant(canvas, t)


def _ripple(canvas: Any, k: int, t: float) -> None:
    depth = k / 25
    y = 900 + 180 * depth**1.4
    drift = (26 + 60 * depth) * math.sin(1.7 * t + k)
    length = 90 + 260 * depth
    for place in range(-1, 3):
        x = 260 + 640 * place + 170 * (k % 4) + drift
        canvas.drawRect(box(x, y, length, 3 + 5 * depth), _plain("6d3c66" if k % 2 else "ffc98c"))


def _spar(
    canvas: Any, start: tuple[float, float], end: tuple[float, float], near: float, far: float
) -> None:
    (x0, y0), (x1, y1) = start, end
    length = math.hypot(x1 - x0, y1 - y0)
    across = (y0 - y1) / length, (x1 - x0) / length
    corners = [
        (x0 + across[0] * near / 2, y0 + across[1] * near / 2),
        (x1 + across[0] * far / 2, y1 + across[1] * far / 2),
        (x1 - across[0] * far / 2, y1 - across[1] * far / 2),
        (x0 - across[0] * near / 2, y0 - across[1] * near / 2),
    ]
    canvas.drawPath(polygon(corners), _plain(_WOOD))


def _rope(canvas: Any, start: tuple[float, float], end: tuple[float, float]) -> None:
    pen = _plain(_ROPE)
    pen.setStyle(skia.Paint.kStroke_Style)
    pen.setStrokeWidth(5)
    canvas.drawLine(*start, *end, pen)


def _sail(canvas: Any) -> None:
    canvas.drawPath(polygon([(1026, 292), (706, 922), (1004, 946)]), _plain(_SHADE))
    canvas.drawPath(polygon([(1060, 226), (1548, 138), (1592, 764), (1050, 828)]), _plain(_SAIL))
    for k in range(1, 5):
        top, foot = 226 - 17.6 * k, 828 - 12.6 * k
        upper, lower = 1060 + 98 * k, 1050 + 108 * k
        seam = [(upper, top), (upper + 12, top - 2), (lower + 12, foot - 2), (lower, foot)]
        canvas.drawPath(polygon(seam), _plain(_SHADE))


def _pennant(canvas: Any, t: float) -> None:
    upper, lower = [], []
    for k in range(24):
        x = 1046 + 15 * k
        wave = 0.9 * k * math.sin(0.42 * k - 7 * t)
        upper.append((x, 64 + 1.2 * k + wave))
        lower.append((x, 128 - 1.4 * k + wave))
    canvas.drawPath(polygon(upper + lower[::-1]), _plain(_FLAG))
