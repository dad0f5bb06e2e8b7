"""Dusk: sky, clouds lit from below, hills in the haze."""

from __future__ import annotations

from typing import Any

import numpy as np

from demo.canvas import (
    Rgba,
    box,
    fill,
    glow,
    gradient,
    mixed,
    polygon,
    smooth_noise,
    stroke,
    tinted,
)
from demo.scenery import Workshop

# Where the sun touches the sea, in design units.
SUN_X, HORIZON = 1230.0, 610.0

SUN_HEIGHT = 118.0
"""Height of the middle of the sun above the horizon."""

SKY_STOPS = [
    (0.0, "15163d", 1.0),
    (0.26, "2f2c66", 1.0),
    (0.48, "66408a", 1.0),
    (0.68, "b4557f", 1.0),
    (0.85, "ea7d6b", 1.0),
    (0.95, "f9ad69", 1.0),
    (1.0, "ffd391", 1.0),
]


def sky(workshop: Workshop, width: float, *, margin: float = 80.0) -> Rgba:
    """The still part of the sky, `margin` taller than what is above the horizon."""
    height = HORIZON + margin
    rng = np.random.default_rng(3)

    def draw(canvas: Any) -> None:
        canvas.drawPaint(gradient((0, 0), (0, HORIZON), SKY_STOPS))
        for _ in range(150):
            x, y = rng.uniform(0, width), rng.uniform(0, 1) ** 2 * 330
            canvas.drawCircle(x, y, rng.uniform(0.5, 1.5), fill("ffe9d6", rng.uniform(0.15, 0.8)))
        for radius, strength in ((760, 0.34), (400, 0.5), (170, 0.6)):
            stops = [
                (0.0, "ffe3a8", strength),
                (0.35, "ffb070", strength * 0.45),
                (1.0, "ff7f70", 0.0),
            ]
            canvas.drawPaint(glow(SUN_X, HORIZON - SUN_HEIGHT, radius, stops))
        canvas.drawCircle(SUN_X, HORIZON - SUN_HEIGHT, 62, fill("fff3cf"))
        canvas.drawCircle(SUN_X, HORIZON - SUN_HEIGHT, 58, fill("fffbe8", 0.8))

    return workshop.band(width, height, draw, grain=0.006, seed=11)


def clouds(workshop: Workshop, width: float, height: float, seed: int, strength: float) -> Rgba:
    """Long soft clouds, warm below and violet above."""
    columns, rows = round(width * workshop.scale), round(height * workshop.scale)
    detail = workshop.look.detail
    shape = round(rows * detail), round(columns * detail)
    body = smooth_noise(*shape, seed, slope=1.75, stretch=3.4)
    y = np.linspace(0, 1, shape[0], dtype=np.float32)[:, None]
    cover = np.clip(body * 0.55 - 0.15, 0, 1) * np.clip(np.sin(np.pi * y), 0, 1) ** 0.7
    lit = (
        np.clip(np.roll(body, -max(shape[0] // 28, 1), axis=0) - body, -1, 1) * 0.6 + 0.35 + 0.4 * y
    )
    warm, cool = np.array([255, 176, 128]), np.array([92, 62, 128])
    lit = np.clip(lit, 0, 1)[..., None]
    alpha = np.clip(cover * strength, 0, 0.9)[..., None]
    rgba = np.zeros((*shape, 4), np.uint8)
    rgba[..., :3] = (cool + (warm - cool) * lit) * alpha
    rgba[..., 3:] = alpha * 255
    return workshop.finished(rgba, columns, rows)


def hills(workshop: Workshop, width: float, height: float, seed: int, near: float) -> Rgba:
    """A ridge line in haze; `near` from 0 (far, pale) to 1."""
    tone = mixed("c77d92", "4b3a72", near)
    foot = mixed("f0a583", "7a5183", near)
    rng = np.random.default_rng(seed)
    phases = rng.uniform(0, 2 * np.pi, 14)

    def draw(canvas: Any) -> None:
        x = np.linspace(0, width, 900)
        ridge = sum(np.sin(2 * np.pi * x / width * k + phases[k]) / k**1.05 for k in range(1, 14))
        y = height * (0.55 - 0.2 * ridge)
        points = [(0.0, height), *zip(x.tolist(), y.tolist(), strict=True), (width, height)]
        canvas.drawPath(
            polygon(points), gradient((0, height * 0.1), (0, height), [(0, tone, 1), (1, foot, 1)])
        )
        canvas.drawPath(polygon(points[1:-1], closed=False), stroke("ffc19a", 2.0, 0.35))
        for _ in range(int(width * 0.35)):
            k = rng.integers(0, len(x))
            depth = rng.uniform(0, 1)
            place = y[k] + depth * (height - y[k])
            tree = mixed(mixed(tone, foot, depth), "2c2150", 0.22)
            size = rng.uniform(2, 5)
            canvas.drawOval(box(x[k], place, size * 1.5, size), fill(tree, 0.3))

    return workshop.band(width, height, draw, grain=0.03, seed=seed)


HEADLAND_WIDTH, HEADLAND_HEIGHT = 3200.0, 240.0
LAMP_X, LAMP_Y = 0.62 * HEADLAND_WIDTH, HEADLAND_HEIGHT - 143.0
"""Where the lamp of the lighthouse is on the headland."""


def headland(workshop: Workshop, seed: int) -> Rgba:
    """The far shore: a breakwater with its lighthouse and small houses with first lights."""
    rng = np.random.default_rng(seed)
    width, height, rock = HEADLAND_WIDTH, HEADLAND_HEIGHT, "4a3566"

    def draw(canvas: Any) -> None:
        x = np.linspace(0, width, 500)
        hump = 0.5 + 0.5 * np.cos(2 * np.pi * (x / width - 0.32))
        y = height - 8 - hump**3 * height * 0.36 - rng.uniform(0, 4, x.shape)
        y[-1] = y[0]
        points = [(0.0, height), *zip(x.tolist(), y.tolist(), strict=True), (width, height)]
        canvas.drawPath(
            polygon(points),
            gradient(
                (0, height * 0.5), (0, height), [(0, mixed(rock, "d0787c", 0.3), 1), (1, rock, 1)]
            ),
        )
        for _ in range(90):
            k = int(rng.normal(0.32, 0.13) * len(x)) % len(x)
            _cottage(
                canvas,
                float(x[k]),
                float(y[k]) + rng.uniform(2, 26),
                rng,
                workshop.look.lit_windows,
            )
        for _ in range(420):
            k = int(rng.integers(0, len(x)))
            tree = fill("33264f", rng.uniform(0.3, 0.8))
            size = rng.uniform(4, 11)
            canvas.drawOval(box(x[k], y[k] + rng.uniform(-4, 40), size * 1.3, size), tree)
        lighthouse(canvas, LAMP_X, LAMP_Y + _LAMP_ABOVE_BASE)

    return workshop.band(width, height, draw, grain=0.05, seed=seed)


def _cottage(canvas: Any, x: float, base: float, rng: np.random.Generator, lit: float) -> None:
    width, height = rng.uniform(12, 24), rng.uniform(9, 17)
    wall = mixed(str(rng.choice(["a26a7a", "b98079", "8a5d83", "c99a86"])), "5c3f74", 0.35)
    canvas.drawRect(box(x, base - height, width, height), fill(wall))
    roof = [
        (x - 2, base - height),
        (x + width / 2, base - height - width * 0.42),
        (x + width + 2, base - height),
    ]
    canvas.drawPath(polygon(roof), fill("40294f"))
    canvas.drawLine(*roof[1], *roof[2], stroke("ffb98a", 1.0, 0.7))
    for side in (3, 3 + width * 0.45):
        if rng.random() < lit + 0.2:
            pane = box(x + side, base - height * 0.7, 3.2, 4)
            canvas.drawRect(pane, fill("ffd07f"))


_LAMP_ABOVE_BASE = 129.5


def lighthouse(canvas: Any, x: float, base: float) -> None:
    """A banded tower, 150 units high."""
    canvas.save()
    canvas.translate(x, base)
    tower = [(-13, 0), (-8, -118), (8, -118), (13, 0)]
    canvas.drawPath(
        polygon(tower),
        gradient((-13, 0), (13, 0), [(0, "6d5178", 1), (0.7, "e0b0a0", 1), (1, "ffd9b4", 1)]),
    )
    canvas.save()
    canvas.clipPath(polygon(tower), doAntiAlias=True)
    for y in (-30, -66, -102):
        band = box(-14, y - 9, 28, 18)
        canvas.drawRect(band, gradient((-13, 0), (13, 0), [(0, "571f3c", 1), (1, "b8474d", 1)]))
    canvas.restore()
    canvas.drawRect(box(-12, -122, 24, 4), fill("2c1f44"))
    canvas.drawRect(box(-6.5, -137, 13, 15), fill("ffe6ae"))
    canvas.drawPath(polygon([(-9, -137), (0, -150), (9, -137)]), fill("3a2348"))
    for place in (-6.5, 0, 6.5):
        canvas.drawLine(place, -137, place, -122, stroke("2c1f44", 1.2))
    canvas.restore()


def fog(workshop: Workshop, width: float) -> Rgba:
    """The harbour mouth in fog: a few shapes that are hardly there."""
    height = 1080.0
    rng = np.random.default_rng(36)

    def draw(canvas: Any) -> None:
        stops = [
            (0.0, "6b5c86", 1.0),
            (0.45, "a98398", 1.0),
            (0.62, "c79d9f", 1.0),
            (1.0, "7d6a8f", 1.0),
        ]
        canvas.drawPaint(gradient((0, 0), (0, height), stops))
        canvas.drawCircle(
            SUN_X, 520, 330, glow(SUN_X, 520, 330, [(0, "ffd9b0", 0.5), (1, "ffd9b0", 0)])
        )
        canvas.drawCircle(SUN_X, 520, 60, fill("ffe8cf", 0.5))
        for k, (share, tone) in enumerate(((0.2, "b58c9c"), (0.62, "a98499"))):
            x = np.linspace(0, width, 200)
            hump = np.exp(-(((x / width - share) / 0.26) ** 2))
            y = 640 + k * 14 - hump * (120 - 30 * k)
            points = [(0.0, 670.0), *zip(x.tolist(), y.tolist(), strict=True), (width, 670.0)]
            canvas.drawPath(
                polygon(points), gradient((0, 520), (0, 670), [(0, tone, 0.9), (1, "c79d9f", 0.2)])
            )
        for _ in range(60):
            x0, y0 = rng.uniform(0, width), rng.uniform(690, 1060)
            length = rng.uniform(60, 260) * (y0 - 600) / 300
            canvas.drawLine(x0, y0, x0 + length, y0, stroke("d8b3ad", 2.4, rng.uniform(0.06, 0.22)))

    return workshop.band(width, height, draw, grain=0.008, seed=37)


def mist(workshop: Workshop, width: float, height: float, seed: int, strength: float) -> Rgba:
    """A bank of mist, soft at its edges."""
    columns, rows = round(width * workshop.scale), round(height * workshop.scale)
    body = smooth_noise(rows, columns, seed, slope=1.8, stretch=3.0)
    y = np.linspace(0, 1, rows, dtype=np.float32)[:, None]
    alpha = np.clip(0.45 + 0.32 * body, 0, 1) * np.sin(np.pi * y).clip(0) ** 1.2 * strength
    return workshop.finished(tinted(alpha, (214, 178, 178)), columns, rows)
