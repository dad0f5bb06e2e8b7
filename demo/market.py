"""The quay before the houses: paving, market stalls, barrels and pools of lamp light."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import skia

from demo.canvas import box, fill, glow, gradient, mixed, stroke

_CLOTH = (("c9535c", "f3dcc4"), ("3f6f8c", "f3dcc4"), ("d99a4e", "7a3048"), ("5f8f7d", "f3dcc4"))


def market(width: float, top: float, height: float, seed: int) -> Callable[[Any], None]:
    """Everything below the house fronts; its back edge lies at `top`, in design units."""

    def draw(canvas: Any) -> None:
        rng = np.random.default_rng(seed)
        _paving(canvas, width, top, height, rng)
        for x in np.arange(60, width, 300).tolist():
            _pool_of_light(canvas, x, top + 30)
        x = 40.0
        while x < width - 150:
            kind = rng.random()
            if kind < 0.5:
                _stall(canvas, x, top + rng.uniform(34, 50), rng)
                x += 150
            elif kind < 0.8:
                for k in range(int(rng.integers(1, 4))):
                    _barrel(canvas, x + k * 21, top + rng.uniform(20, 46))
                x += 90
            else:
                _tree(canvas, x + 30, top + rng.uniform(20, 32), rng)
                x += 80
            x += rng.uniform(0, 60)

    return draw


def _paving(canvas: Any, width: float, top: float, height: float, rng: np.random.Generator) -> None:
    area = box(0, top, width, height)
    stops = [(0.0, "7c5273", 1.0), (0.3, "51396a", 1.0), (1.0, "2a2148", 1.0)]
    canvas.drawRect(area, gradient((0, top), (0, top + height), stops))
    y, step = top, 3.0
    while y < top + height:
        for _ in range(int(width / 60)):
            x = rng.uniform(0, width)
            tone = "e0a39a" if rng.random() < 0.45 else "1a1434"
            length = rng.uniform(12, 110)
            canvas.drawLine(x, y, x + length, y, stroke(tone, step * 0.5, rng.uniform(0.03, 0.16)))
        y += step
        step *= 1.05
    canvas.drawLine(0, top, width, top, stroke("ffb98a", 2.0, 0.4))


def _pool_of_light(canvas: Any, x: float, y: float) -> None:
    canvas.save()
    canvas.translate(x, y)
    canvas.scale(1, 0.22)
    canvas.drawCircle(0, 0, 160, glow(0, 0, 160, [(0, "ffc070", 0.6), (1, "ff9a4a", 0)]))
    canvas.restore()


def _stall(canvas: Any, x: float, bottom: float, rng: np.random.Generator) -> None:
    cloth, pale = _CLOTH[int(rng.integers(len(_CLOTH)))]
    width, height = 118.0, 66.0
    y = bottom - height
    canvas.drawOval(box(x - 10, bottom - 6, width + 30, 14), fill("120e28", 0.5))
    back = box(x + 6, y + 16, width - 12, height - 20)
    canvas.drawRect(back, gradient((x, y), (x, bottom), [(0, "ffcf86", 1), (1, "a5563f", 1)]))
    for k in range(9):
        tone = str(rng.choice(["d9604f", "efb75c", "87a86a", "f0dcc0", "7d4a6b"]))
        canvas.drawCircle(x + 16 + k * 11, bottom - 20, rng.uniform(4, 6.5), fill(tone))
    counter = box(x, bottom - 17, width, 17)
    canvas.drawRect(counter, gradient((x, 0), (x + width, 0), [(0, "4b2f45", 1), (1, "9a6460", 1)]))
    for k in range(8):
        left = x - 6 + k * (width + 12) / 8
        stripe = skia.Path()
        stripe.addPoly(
            [
                skia.Point(left + 4, y),
                skia.Point(left + (width + 12) / 8 + 4 - k * 0.4, y),
                skia.Point(left + (width + 12) / 8, y + 19),
                skia.Point(left, y + 19),
            ],
            True,
        )
        tone = mixed(cloth if k % 2 else pale, "3a2450", 0.18)
        canvas.drawPath(stripe, fill(tone))
        canvas.drawCircle(left + (width + 12) / 16, y + 19, (width + 12) / 16, fill(tone))
    canvas.drawLine(x - 2, y, x + width + 2, y, stroke("ffc79c", 2, 0.8))
    for place in (x + 3, x + width - 3):
        canvas.drawLine(place, y + 10, place, bottom, stroke("2a1c38", 3.5))


def _barrel(canvas: Any, x: float, bottom: float) -> None:
    body = box(x, bottom - 27, 19, 27)
    stops = [(0.0, "34223f", 1.0), (0.7, "855061", 1.0), (1.0, "d9977b", 1.0)]
    canvas.drawRRect(skia.RRect.MakeRectXY(body, 5, 6), gradient((x, 0), (x + 19, 0), stops))
    for share in (0.25, 0.72):
        y = bottom - 27 * share
        canvas.drawLine(x, y, x + 19, y, stroke("1b1535", 2.2, 0.7))


def _tree(canvas: Any, x: float, bottom: float, rng: np.random.Generator) -> None:
    canvas.drawLine(x, bottom, x, bottom - 52, stroke("2a1c38", 6))
    for _ in range(46):
        angle, reach = rng.uniform(0, 2 * np.pi), rng.uniform(0, 1) ** 0.6
        dx, dy = float(np.cos(angle) * reach * 32), float(np.sin(angle) * reach * 36)
        warm = float(np.clip((dx - dy) / 60 + 0.35, 0, 1))
        tone = mixed("33285a", "c7716a", warm * 0.75)
        canvas.drawCircle(x + dx, bottom - 76 + dy, rng.uniform(5, 10), fill(tone, 0.8))
