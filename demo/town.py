"""Harbour houses, roofs and lanterns, drawn side by side into bands that repeat."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import skia

from demo.canvas import fill, glow, gradient, mixed, polygon, stroke

Rng = np.random.Generator


@dataclass(frozen=True)
class Street:
    """One row of houses: how they are built and how the air colours them."""

    walls: tuple[str, ...]
    roofs: tuple[str, ...]
    haze: str
    haze_share: float
    """How much of the haze lies over wall and roof colours."""
    rim: str
    """Light of the low sun along edges that face it."""
    size: float
    """Scale of windows, tiles and bricks in design units."""
    lit_windows: float
    """Share of windows with a light behind them."""


def street(
    width: float, base: float, height: tuple[float, float], seed: int, style: Street
) -> Callable[[Any], None]:
    """A row of houses on a base line, one period of `width` long, in design units."""
    rng = np.random.default_rng(seed)
    plots = []
    left = 0.0
    while left < width:
        plots.append((left, rng.uniform(95, 190) * style.size, rng.uniform(*height)))
        left += plots[-1][1]
    squeeze = width / left
    seeds = rng.integers(0, 2**31, len(plots)).tolist()

    def draw(canvas: Any) -> None:
        # Eaves and chimneys of the outermost houses reach across the seam.
        for k in (-1, *range(len(plots)), len(plots)):
            turn, index = divmod(k, len(plots))
            x, plot_width, plot_height = plots[index]
            house = _House(
                canvas,
                turn * width + x * squeeze,
                base,
                plot_width * squeeze,
                plot_height,
                style,
                np.random.default_rng(seeds[index]),
            )
            house.draw()

    return draw


class _House:
    """One house while it is drawn."""

    def __init__(
        self,
        canvas: Any,
        x: float,
        base: float,
        width: float,
        height: float,
        style: Street,
        rng: Rng,
    ) -> None:
        self.canvas, self.style, self.rng = canvas, style, rng
        self.x, self.base, self.width, self.top = x, base, width, base - height
        self.wall = self._hazed(str(rng.choice(style.walls)))
        self.roof = self._hazed(str(rng.choice(style.roofs)))
        self.u = style.size

    def _hazed(self, text: str) -> str:
        return mixed(text, self.style.haze, self.style.haze_share)

    def draw(self) -> None:
        """Roof furniture first, so that the roof stands before it."""
        rng, u = self.rng, self.u
        ridge = rng.uniform(0.3, 0.62) * self.width
        ridge = min(ridge, 95 * u)
        kind = rng.choice(["gable", "long", "step"], p=[0.4, 0.42, 0.18])
        self._chimney(self.x + self.width * rng.uniform(0.15, 0.8), ridge)
        self._wall(self.x, self.top, self.width, self.base - self.top)
        if kind == "gable":
            self._gable(ridge)
        elif kind == "long":
            self._long_roof(ridge * 0.8)
        else:
            self._stepped_gable(ridge)
        self._windows()

    def _wall(self, x: float, y: float, width: float, height: float) -> None:
        shade, light = mixed(self.wall, "0d0b26", 0.42), mixed(self.wall, self.style.rim, 0.14)
        rect = skia.Rect.MakeXYWH(x, y, width + 0.6, height)
        self.canvas.drawRect(
            rect,
            gradient((x, y), (x + width, y), [(0, shade, 1), (0.75, self.wall, 1), (1, light, 1)]),
        )
        self._courses(x, y, width, height)
        self.canvas.drawRect(
            rect,
            gradient(
                (x, y),
                (x, y + height),
                [(0, "0d0b26", 0), (0.5, "0d0b26", 0.06), (1, "0d0b26", 0.5)],
            ),
        )
        self.canvas.drawLine(
            x + width, y, x + width, y + height, stroke("0d0b26", 2.2 * self.u, 0.5)
        )

    def _courses(self, x: float, y: float, width: float, height: float) -> None:
        """Bricks or planks, more hinted at than drawn."""
        rng, u = self.rng, self.u
        pale, dark = mixed(self.wall, "ffd9b0", 0.3), mixed(self.wall, "07061a", 0.55)
        step = 7.5 * u
        if rng.random() < 0.3:
            for k in range(int(width / step)):
                place = x + k * step + rng.uniform(-0.6, 0.6) * u
                self.canvas.drawLine(place, y, place, y + height, stroke(dark, 1.1 * u, 0.34))
            return
        for row in range(int(height / step)):
            place = y + row * step
            self.canvas.drawLine(x, place, x + width, place, stroke(dark, 0.9 * u, 0.26))
            for _ in range(int(width / (26 * u))):
                left = x + rng.uniform(0, width - 15 * u)
                brick = skia.Rect.MakeXYWH(left, place + u, 13 * u, 5.6 * u)
                tone = pale if rng.random() < 0.5 else dark
                self.canvas.drawRect(brick, fill(tone, rng.uniform(0.12, 0.42)))

    def _windows(self) -> None:
        rng, u = self.rng, self.u
        columns = max(int((self.width - 14 * u) // (36 * u)), 1)
        pitch = (self.width - 14 * u) / columns
        storeys = int((self.base - self.top - 16 * u) // (52 * u))
        shutters = rng.random() < 0.45
        for storey in range(storeys):
            for column in range(columns):
                if rng.random() < 0.1:
                    continue
                x = self.x + 7 * u + (column + 0.5) * pitch
                self._window(x, self.top + (16 + 52 * storey) * u, 17 * u, 29 * u, shutters)

    def _window(self, middle: float, y: float, width: float, height: float, shutters: bool) -> None:
        rng, u, canvas = self.rng, self.u, self.canvas
        x = middle - width / 2
        lit = rng.random() < self.style.lit_windows
        frame = skia.Rect.MakeXYWH(x - 2 * u, y - 2 * u, width + 4 * u, height + 4 * u)
        canvas.drawRect(frame, fill(mixed(self.wall, "0b0920", 0.62)))
        pane = skia.Rect.MakeXYWH(x, y, width, height)
        if lit:
            warm = str(rng.choice(["ffd27d", "ffc063", "ffe0a3", "ffab57"]))
            stops = [(0.0, mixed(warm, "ff8b3d", 0.35), 1.0), (1.0, warm, 1.0)]
        else:
            stops = [(0.0, mixed("6a4d86", self.wall, 0.3), 1.0), (1.0, "201b44", 1.0)]
        canvas.drawRect(pane, gradient((x, y), (x + width * 0.4, y + height), stops))
        if lit and rng.random() < 0.35:
            canvas.drawRect(
                skia.Rect.MakeXYWH(x, y, width, height * rng.uniform(0.2, 0.5)),
                fill("b4552f", 0.55),
            )
        bar = stroke(mixed(self.wall, "0b0920", 0.7), 1.7 * u)
        canvas.drawLine(middle, y, middle, y + height, bar)
        canvas.drawLine(x, y + height * 0.42, x + width, y + height * 0.42, bar)
        sill = skia.Rect.MakeXYWH(x - 4 * u, y + height + 2 * u, width + 8 * u, 3 * u)
        canvas.drawRect(sill, fill(mixed(self.wall, "ffd9b0", 0.28)))
        if shutters:
            tone = mixed(self.roof, "10203f", 0.3)
            for left in (x - 11 * u, x + width + 3 * u):
                canvas.drawRect(skia.Rect.MakeXYWH(left, y - u, 8 * u, height + 2 * u), fill(tone))
                for k in range(6):
                    slat = y + (k + 0.5) * height / 6
                    canvas.drawLine(left + u, slat, left + 7 * u, slat, stroke("0b0920", u, 0.4))
        if lit:
            radius = height * 1.5
            canvas.drawCircle(
                middle,
                y + height / 2,
                radius,
                glow(
                    middle,
                    y + height / 2,
                    radius,
                    [(0, "ffb35c", 0.3), (0.4, "ff9a4a", 0.1), (1, "ff8a3a", 0)],
                ),
            )

    def _tiles(self, path: Any, left: float, right: float, top: float, bottom: float) -> None:
        """Roof surface: rows of tiles inside a path, some weathered."""
        rng, u, canvas = self.rng, self.u, self.canvas
        dark, pale = mixed(self.roof, "07061a", 0.5), mixed(self.roof, self.style.rim, 0.4)
        canvas.drawPath(
            path,
            gradient(
                (left, top),
                (right, bottom),
                [(0, mixed(self.roof, dark, 0.35), 1), (1, self.roof, 1)],
            ),
        )
        canvas.save()
        canvas.clipPath(path, doAntiAlias=True)
        row_height, tile = 8.5 * u, 10.5 * u
        for row in range(int((bottom - top) / row_height) + 1):
            y = top + row * row_height
            canvas.drawLine(left, y, right, y, stroke(dark, 1.8 * u, 0.6))
            canvas.drawLine(left, y + 1.7 * u, right, y + 1.7 * u, stroke(pale, 0.9 * u, 0.32))
            offset = (row % 2) * tile / 2
            for k in range(int((right - left) / tile) + 1):
                x = left + offset + k * tile
                canvas.drawLine(x, y, x, y + row_height, stroke(dark, 1.1 * u, 0.5))
                if rng.random() < 0.3:
                    tone = pale if rng.random() < 0.5 else dark
                    canvas.drawRect(
                        skia.Rect.MakeXYWH(x, y + u, tile, row_height - u),
                        fill(tone, rng.uniform(0.1, 0.34)),
                    )
        canvas.restore()

    def _gable(self, ridge: float) -> None:
        """The gable faces us: the wall runs up into a triangle."""
        u, canvas = self.u, self.canvas
        over = 6 * u
        peak = (self.x + self.width / 2, self.top - ridge)
        left, right = (
            (self.x - over, self.top + 4 * u),
            (self.x + self.width + over, self.top + 4 * u),
        )
        canvas.save()
        canvas.clipPath(polygon([left, peak, right]), doAntiAlias=True)
        self._wall(self.x, peak[1], self.width, self.top - peak[1] + 4 * u)
        canvas.restore()
        eye = skia.Rect.MakeXYWH(peak[0] - 7 * u, self.top - ridge * 0.52, 14 * u, 17 * u)
        canvas.drawRRect(skia.RRect.MakeRectXY(eye, 7 * u, 7 * u), fill("1d1840"))
        board = mixed(self.roof, "0b0920", 0.35)
        canvas.drawPath(polygon([left, peak, right], closed=False), _pen(board, 7 * u))
        canvas.drawLine(*peak, *right, stroke(self.style.rim, 2.1 * u, 0.75))

    def _long_roof(self, ridge: float) -> None:
        """The ridge runs along the street: we look onto the tiles."""
        u = self.u
        over, inset = 6 * u, self.rng.uniform(0.03, 0.14) * self.width
        left, right, bottom = self.x - over, self.x + self.width + over, self.top + 5 * u
        top = self.top - ridge
        path = polygon(
            [
                (left, bottom),
                (self.x + inset, top),
                (self.x + self.width - inset, top),
                (right, bottom),
            ]
        )
        self._tiles(path, left, right, top, bottom)
        self.canvas.drawLine(
            self.x + inset,
            top,
            self.x + self.width - inset,
            top,
            stroke(self.style.rim, 2.6 * u, 0.7),
        )
        self.canvas.drawLine(left, bottom, right, bottom, stroke("0b0920", 3 * u, 0.7))
        if self.rng.random() < 0.6:
            self._dormer(
                self.x + self.width * self.rng.uniform(0.3, 0.7), top + ridge * 0.9, ridge * 0.62
            )

    def _dormer(self, middle: float, bottom: float, height: float) -> None:
        u, half = self.u, 15 * self.u
        self._wall(middle - half, bottom - height * 0.6, 2 * half, height * 0.6)
        self._window(middle, bottom - height * 0.5, 13 * u, height * 0.36, shutters=False)
        roof = polygon(
            [
                (middle - half - 4 * u, bottom - height * 0.58),
                (middle, bottom - height * 1.1),
                (middle + half + 4 * u, bottom - height * 0.58),
            ]
        )
        self.canvas.drawPath(roof, fill(mixed(self.roof, "0b0920", 0.25)))
        self.canvas.drawLine(
            middle,
            bottom - height * 1.1,
            middle + half + 4 * u,
            bottom - height * 0.58,
            stroke(self.style.rim, 1.6 * u, 0.7),
        )

    def _stepped_gable(self, ridge: float) -> None:
        steps, u = 4, self.u
        for k in range(steps):
            inset = self.width * 0.5 * k / steps
            y = self.top - ridge * 0.9 * (k + 1) / steps
            self._wall(self.x + inset, y, self.width - 2 * inset, ridge * 0.9 / steps + u)
            self.canvas.drawLine(
                self.x + inset,
                y,
                self.x + self.width - inset,
                y,
                stroke(self.style.rim, 2 * u, 0.5),
            )

    def _chimney(self, x: float, ridge: float) -> None:
        u, rng = self.u, self.rng
        width, top = rng.uniform(13, 19) * u, self.top - ridge - rng.uniform(4, 26) * u
        self._wall(x, top, width, self.top - top)
        cap = skia.Rect.MakeXYWH(x - 2.5 * u, top - 5 * u, width + 5 * u, 6 * u)
        self.canvas.drawRect(cap, fill(mixed(self.wall, "0b0920", 0.5)))
        for k in range(2):
            pot = skia.Rect.MakeXYWH(x + (1.5 + k * 7) * u, top - 14 * u, 5 * u, 10 * u)
            self.canvas.drawRect(pot, fill(mixed("a5523f", self.style.haze, self.style.haze_share)))
        self.canvas.drawLine(
            x + width, top, x + width, self.top, stroke(self.style.rim, 1.6 * u, 0.6)
        )


def _pen(text: str, width: float) -> Any:
    pen = stroke(text, width)
    pen.setStrokeJoin(skia.Paint.kMiter_Join)
    return pen
