"""The picture under the brush, and what several shots put into it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from demo import actors
from demo.canvas import Rgba
from demo.stage import Stage


@dataclass(frozen=True)
class Easel:
    """One picture while it is painted: its samples, the canvas on them, the scenery."""

    rgba: Rgba
    canvas: Any
    stage: Stage

    def in_units(self, draw: Callable[[Any], None]) -> None:
        """Draw in design units."""
        self.canvas.save()
        self.canvas.scale(self.stage.scale, self.stage.scale)
        draw(self.canvas)
        self.canvas.restore()


def harbour(easel: Easel, camera: tuple[float, float], t: float, *, with_lanterns: bool) -> None:
    """All layers, from the sky to the lanterns; camera in design units."""
    stage, canvas, width = easel.stage, easel.canvas, easel.stage.width
    place = camera[0] * stage.scale, camera[1] * stage.scale
    canvas.drawImage(stage.sky, 0, 0)
    drift = place[0] + 130 * stage.scale * t, place[1]
    stage.clouds.paint(canvas, width, drift)
    for layer in (stage.far_hills, stage.near_hills, stage.headland):
        layer.paint(canvas, width, place)
    stage.water.paint(canvas, width, place, t)
    for layer in (stage.boats, stage.quay, stage.rooftops):
        layer.paint(canvas, width, place)
    if with_lanterns:
        stage.lanterns.paint(canvas, width, place)


def letters(canvas: Any, x: float, y: float, t: float, *, every_s: float) -> None:
    """Letters let go at even times, fluttering down and falling behind."""
    for k in range(math.ceil(t / every_s)):
        age = t - k * every_s
        if age > 1.8:
            continue
        fall = 40 * age + 150 * age**2
        behind = 330 * age + 26 * math.sin(age * 6 + k)
        turn = 40 * math.sin(age * 5 + k * 1.7)
        actors.letter(canvas, x - 20 - behind, y + 26 + fall, 0.9, turn, math.cos(age * 7 + k))


def shadow(easel: Easel, x: float, y: float) -> None:
    """The glider's soft shadow, centred on a column, in design units."""
    stage = easel.stage
    image = stage.shadow
    left, top = round(x * stage.scale) - image.width() // 2, round(y * stage.scale)
    easel.canvas.drawImage(image, left, top)


def hud(canvas: Any, right: float, program_s: float, sent: int) -> None:
    """The clock, and how many letters are on their way."""
    actors.clock(canvas, right - 56, 44, program_s, 46)
    actors.letter(canvas, 80, 64, 0.9, 0, 1.0)
    actors.label(canvas, f"{sent} of 12", 112, 46, 38)


def ramp(t: float, start: float, end: float) -> float:
    """0 before start, 1 after end, smooth between."""
    share = min(max((t - start) / (end - start), 0.0), 1.0)
    return share * share * (3 - 2 * share)
