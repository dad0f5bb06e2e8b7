"""The walls and windows of harbour houses."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from demo.canvas import box, fill, glow, gradient, mixed, stroke


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


class House:
    """One house while it is drawn: place, colours, and the walls and windows it is made of."""

    def __init__(
        self,
        canvas: Any,
        x: float,
        base: float,
        width: float,
        height: float,
        style: Street,
        lit_windows: float,
        rng: np.random.Generator,
    ) -> None:
        self.canvas, self.style, self.rng = canvas, style, rng
        self.x, self.base, self.width, self.top = x, base, width, base - height
        self.wall_tone = self.hazed(str(rng.choice(style.walls)))
        self.roof_tone = self.hazed(str(rng.choice(style.roofs)))
        self.lit_windows = lit_windows
        self.u = style.size

    def hazed(self, text: str) -> str:
        """A colour as the air over the harbour lets it through."""
        return mixed(text, self.style.haze, self.style.haze_share)

    def wall(self, x: float, y: float, width: float, height: float) -> None:
        """A piece of wall, lit from the right."""
        shade, light = (
            mixed(self.wall_tone, "0d0b26", 0.42),
            mixed(self.wall_tone, self.style.rim, 0.14),
        )
        rect = box(x, y, width + 0.6, height)
        self.canvas.drawRect(
            rect,
            gradient(
                (x, y), (x + width, y), [(0, shade, 1), (0.75, self.wall_tone, 1), (1, light, 1)]
            ),
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
        pale, dark = mixed(self.wall_tone, "ffd9b0", 0.3), mixed(self.wall_tone, "07061a", 0.55)
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
                brick = box(left, place + u, 13 * u, 5.6 * u)
                tone = pale if rng.random() < 0.5 else dark
                self.canvas.drawRect(brick, fill(tone, rng.uniform(0.12, 0.42)))

    def windows(self) -> None:
        """All windows of the front, storey by storey."""
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
                self.window(x, self.top + (16 + 52 * storey) * u, 17 * u, 29 * u, shutters)

    def window(self, middle: float, y: float, width: float, height: float, shutters: bool) -> None:
        """One window, dark or lit."""
        rng, u, canvas = self.rng, self.u, self.canvas
        x = middle - width / 2
        lit = rng.random() < self.lit_windows
        frame = box(x - 2 * u, y - 2 * u, width + 4 * u, height + 4 * u)
        canvas.drawRect(frame, fill(mixed(self.wall_tone, "0b0920", 0.62)))
        pane = box(x, y, width, height)
        if lit:
            warm = str(rng.choice(["ffd27d", "ffc063", "ffe0a3", "ffab57"]))
            stops = [(0.0, mixed(warm, "ff8b3d", 0.35), 1.0), (1.0, warm, 1.0)]
        else:
            stops = [(0.0, mixed("6a4d86", self.wall_tone, 0.3), 1.0), (1.0, "201b44", 1.0)]
        canvas.drawRect(pane, gradient((x, y), (x + width * 0.4, y + height), stops))
        if lit and rng.random() < 0.35:
            canvas.drawRect(
                box(x, y, width, height * rng.uniform(0.2, 0.5)),
                fill("b4552f", 0.55),
            )
        bar = stroke(mixed(self.wall_tone, "0b0920", 0.7), 1.7 * u)
        canvas.drawLine(middle, y, middle, y + height, bar)
        canvas.drawLine(x, y + height * 0.42, x + width, y + height * 0.42, bar)
        sill = box(x - 4 * u, y + height + 2 * u, width + 8 * u, 3 * u)
        canvas.drawRect(sill, fill(mixed(self.wall_tone, "ffd9b0", 0.28)))
        if shutters:
            tone = mixed(self.roof_tone, "10203f", 0.3)
            for left in (x - 11 * u, x + width + 3 * u):
                canvas.drawRect(box(left, y - u, 8 * u, height + 2 * u), fill(tone))
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
