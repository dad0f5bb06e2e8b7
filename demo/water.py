"""The harbour water: a plane in perspective, sun on it, boats at their moorings."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import skia

from demo.canvas import (
    Rgba,
    box,
    fill,
    gradient,
    image_of,
    mixed,
    polygon,
    smooth_noise,
    stroke,
    tinted,
)
from demo.scenery import Workshop
from demo.sky import HORIZON, SUN_X

DEPTH_FAR, DEPTH_NEAR = 0.14, 0.5
"""Share of the camera's movement that water follows at the horizon and at the quay."""

_STRIP = 5.0
"""Height of the strips, in design units, that move as one."""


def water_texture(workshop: Workshop, width: float, height: float) -> Rgba:
    """Evening colours under streaks that grow from the horizon towards us."""
    columns, rows = round(width * workshop.scale), round(height * workshop.scale)
    detail = workshop.look.detail
    shape = round(rows * detail), round(columns * detail)
    stops = [(0.0, "f6b07c"), (0.07, "d97f7c"), (0.25, "9a5a86"), (0.6, "503f7c"), (1.0, "2a2a5c")]
    places = [place for place, _ in stops]
    y = np.linspace(0, 1, shape[0], dtype=np.float32)
    channels = [
        np.interp(y, places, [int(text[i : i + 2], 16) for _, text in stops]) for i in (0, 2, 4)
    ]
    base = np.stack(channels, axis=-1)[:, None, :].astype(np.float32)
    fine, broad = (
        smooth_noise(*shape, seed, slope=slope, stretch=stretch)
        for seed, slope, stretch in ((21, 0.75, 7.0), (22, 1.0, 9.0))
    )
    share = y[:, None] ** 0.7
    streaks = fine * (1 - share) + broad * share
    strength = (0.1 + 0.34 * share) * workshop.look.grain
    light = np.array([255, 186, 140], np.float32)
    up, down = np.clip(streaks, 0, 2) * strength, np.clip(-streaks, 0, 2) * strength * 0.8
    rgb = base + (light - base) * (up * 0.55)[..., None]
    rgb *= (1 - down * 0.6)[..., None]
    rgba = np.full((*shape, 4), 255, np.uint8)
    rgba[..., :3] = np.clip(rgb, 0, 255)
    return workshop.finished(rgba, columns, rows)


class Water:
    """Paints the plane in strips, each following the camera by its own depth."""

    def __init__(self, workshop: Workshop, width: float, height: float) -> None:
        rgba = water_texture(workshop, width, height)
        rows, self._period = rgba.shape[:2]
        self._scale = workshop.scale
        self._strips: list[tuple[int, float, Any]] = []
        row = 0
        while row < rows:
            share = row / rows
            end = row + max(round(_STRIP * self._scale * (0.4 + 1.6 * share)), 1)
            self._strips.append((row, share, image_of(rgba[row:end], opaque=True)))
            row = end
        self._glints = _Glints(workshop, height)

    def paint(self, canvas: Any, width: int, camera: tuple[float, float], time_s: float) -> None:
        """Paint across a canvas of that width, in pixels; camera in pixels at depth 1."""
        horizon = math.floor(HORIZON * self._scale - camera[1] * DEPTH_FAR + 0.5)
        copy, nearest = skia.Paint(BlendMode=skia.BlendMode.kSrc), skia.SamplingOptions()
        for row, share, strip in self._strips:
            depth = DEPTH_FAR + (DEPTH_NEAR - DEPTH_FAR) * share
            sway = math.sin(time_s * 1.7 + share * 38) * (1 + 7 * share) * self._scale
            left = -(math.floor(camera[0] * depth + sway) % self._period)
            while left < width:
                canvas.drawImage(strip, left, horizon + row, nearest, copy)
                left += self._period
        self._glints.paint(canvas, horizon, time_s)


class _Glints:
    """Sparks of the low sun, each with a rhythm of its own."""

    def __init__(self, workshop: Workshop, height: float, count: int = 190) -> None:
        scale = workshop.scale
        rng = np.random.default_rng(5)
        share = rng.uniform(0.0, 1.0, count) ** 1.5
        spread = 60 + 190 * share
        self._x = (SUN_X + rng.normal(0, 1, count) * spread * 0.5) * scale
        self._y = (3 + share * height * 0.8) * scale
        self._size = np.minimum((share * 3.2).astype(int), 2)
        self._speed = rng.uniform(1.6, 4.6, count)
        self._phase = rng.uniform(0, 2 * np.pi, count)
        self._sprites = [image_of(_glint(scale, length)) for length in (15.0, 30.0, 52.0)]
        column = _sun_column(workshop, 620, height)
        self._column = image_of(column)
        self._column_left = round((SUN_X - 310) * scale)

    def paint(self, canvas: Any, horizon: int, time_s: float) -> None:
        canvas.drawImage(self._column, self._column_left, horizon)
        strength = np.clip(np.sin(self._speed * time_s + self._phase), 0, 1) ** 2
        for k in np.flatnonzero(strength > 0.06).tolist():
            sprite = self._sprites[self._size[k]]
            x = round(float(self._x[k])) - sprite.width() // 2
            y = horizon + round(float(self._y[k])) - sprite.height() // 2
            paint = skia.Paint(Alphaf=float(strength[k]))
            canvas.drawImage(sprite, x, y, skia.SamplingOptions(), paint)


def _glint(scale: float, length: float) -> Rgba:
    columns, rows = max(round(length * scale), 4), max(round(length * scale * 0.16), 2)
    x = np.linspace(-1, 1, columns)[None, :]
    y = np.linspace(-1, 1, rows + 2)[1:-1, None]
    alpha = np.clip(1 - x**2, 0, 1) ** 1.5 * np.clip(1 - y**2, 0, 1)
    return tinted(alpha, (255, 236, 190))


def _sun_column(workshop: Workshop, width: float, height: float) -> Rgba:
    columns, rows = round(width * workshop.scale), round(height * workshop.scale)
    x = np.linspace(-1, 1, columns)[None, :]
    y = np.linspace(0, 1, rows)[:, None]
    alpha = np.exp(-((x / (0.16 + 0.5 * y)) ** 2)) * (0.8 * (1 - y) ** 1.1)
    return tinted(alpha, (255, 196, 128))


def boats(workshop: Workshop, width: float, height: float, seed: int, count: int) -> Rgba:
    """Fishing boats with bare masts and furled sails, and their broken reflections."""
    rng = np.random.default_rng(seed)
    places = (np.arange(count) + rng.uniform(0.1, 0.75, count)) * width / count
    sizes = rng.uniform(0.75, 1.25, count)
    tones = [str(rng.choice(["7a3048", "2c4a6b", "3d2b52", "86503f", "285a5c"])) for _ in places]
    furled = rng.random(count) < 0.5

    def draw(canvas: Any) -> None:
        for x, size, tone, is_furled in zip(places, sizes, tones, furled, strict=True):
            canvas.save()
            canvas.translate(float(x), height - 46)
            canvas.scale(float(size), float(size))
            boat(canvas, tone, furled=bool(is_furled))
            canvas.restore()

    return workshop.band(width, height, draw, grain=0.05, seed=seed)


def boat(canvas: Any, tone: str, *, furled: bool) -> None:
    """One boat, 110 units long, its water line at y = 0."""
    for k in range(7):
        width = 48 - k * 4
        rect = box(-width + 4 * math.sin(k * 2.3), 2 + k * 5, 2 * width, 3.2)
        canvas.drawOval(rect, fill(mixed(tone, "140f30", 0.6), 0.5 - k * 0.06))
    canvas.drawLine(4, -8, 4, -126, stroke("2a1d3d", 3.2))
    canvas.drawLine(6, -40, 52, -34, stroke("2a1d3d", 2.4))
    for x in (-46, 48):
        canvas.drawLine(4, -122, x, -14, stroke("2a1d3d", 0.9, 0.8))
    sail = (
        [(8, -42), (8, -112), (46, -38)]
        if not furled
        else [(8, -40), (12, -48), (50, -41), (50, -36)]
    )
    canvas.drawPath(
        polygon(sail), gradient((0, -112), (50, -36), [(0, "f0c1a2", 1), (1, "b3707f", 1)])
    )
    hull = [(-56, -15), (56, -17), (44, 2), (-42, 2)]
    canvas.drawPath(
        polygon(hull),
        gradient(
            (-56, 0),
            (56, 0),
            [(0, mixed(tone, "0e0b26", 0.4), 1), (1, mixed(tone, "ffb38a", 0.25), 1)],
        ),
    )
    canvas.drawLine(-56, -15, 56, -17, stroke("ffc79c", 2.2, 0.85))
    canvas.drawRect(box(-32, -31, 27, 16), fill("d9b2a0"))
    canvas.drawRect(box(-28, -28, 7, 7), fill("ffd98f"))
    canvas.drawRect(box(-17, -28, 7, 7), fill("5d4468"))
