"""What each shot of the storyboard shows, as a function of its own time in seconds."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import skia

from demo import actors
from demo.canvas import box, fill, stroke
from demo.easel import Easel, harbour, hud, letters, ramp, shadow

TITLE = "Tidewater Courier"


Shot = Callable[[Easel, float], None]


def opening(easel: Easel, t: float) -> None:
    """Out of black: a slow pan along the harbour, with the title."""
    harbour(easel, (300 + 96 * t, 0), t, with_lanterns=False)
    right = easel.stage.units_wide

    def draw(canvas: Any) -> None:
        for k in range(3):
            x, y = 380 + 62 * t + k * 74, 300 - 14 * t + 26 * math.sin(t * 0.9 + k * 2)
            actors.gull(canvas, x, y, 0.8 - 0.12 * k, t * 1.3 + k * 0.31)
        shown = ramp(t, 0.7, 1.3) * (1 - ramp(t, 2.4, 2.75))
        if shown > 0:
            actors.label(
                canvas,
                TITLE,
                right / 2,
                214,
                104,
                align="centre",
                weight="SemiBoldItalic",
                alpha=shown,
            )
            actors.label(
                canvas, "the evening round", right / 2, 338, 40, align="centre", alpha=0.85 * shown
            )
        hud(canvas, right, t, 0)

    easel.in_units(draw)
    easel.canvas.drawPaint(fill("000000", 1 - ramp(t, 0.15, 1.0)))


def glide(easel: Easel, t: float) -> None:
    """Along the roofs at an even pace, rising and falling."""
    camera = 900 + 560 * t, -34 * math.sin(t * 1.5)
    harbour(easel, camera, t + 3, with_lanterns=True)
    right = easel.stage.units_wide
    x, y = right * 0.42 + 60 * math.sin(t * 0.8), 420 + 70 * math.sin(t * 1.5)

    def draw(canvas: Any) -> None:
        letters(canvas, x, y, t, every_s=1.1)
        actors.glider(canvas, x, y, 1.25, -9 * math.cos(t * 1.5), math.sin(t * 1.9))
        hud(canvas, right, 2.8 + t, 1 + int(t / 1.1))

    easel.in_units(draw)


def dash(easel: Easel, t: float) -> None:
    """Down between the roofs, fast, with everything in motion."""
    camera = 2100 + 1240 * t + 60 * math.sin(t * 3), 110 + 82 * math.sin(t * 2.6)
    harbour(easel, camera, t + 9, with_lanterns=True)
    right = easel.stage.units_wide
    x, y = right * 0.38 + 90 * math.sin(t * 1.7), 520 + 130 * math.sin(t * 2.6 + 0.6)
    shadow(easel, x + 30, y + 330)

    def draw(canvas: Any) -> None:
        letters(canvas, x, y, t, every_s=0.55)
        actors.glider(canvas, x, y, 1.6, -16 * math.cos(t * 2.6), math.sin(t * 3.1))
        hud(canvas, right, 5.2 + t, 5 + int(t / 0.55))

    easel.in_units(draw)


PAUSED_AT_S = 1.8
"""Moment of the dash at which the player pauses it."""


def paused(easel: Easel, _: float) -> None:
    """The dash, held under a veil until the player goes on."""
    held = easel.stage.kept("paused", lambda kept: _paused_picture(Easel(*kept, easel.stage)))
    easel.rgba[...] = held


def _paused_picture(easel: Easel) -> None:
    dash(easel, PAUSED_AT_S)
    easel.canvas.drawPaint(fill("140f30", 0.62))

    def draw(canvas: Any) -> None:
        middle = easel.stage.units_wide / 2
        for x in (-30, 12):
            bar = box(middle + x, 400, 18, 76)
            canvas.drawRRect(skia.RRect.MakeRectXY(bar, 5, 5), fill("fff1dd", 0.95))
        actors.label(canvas, "Paused", middle, 520, 66, align="centre", weight="SemiBold")
        actors.label(canvas, "the post can wait", middle, 610, 34, align="centre", alpha=0.8)

    easel.in_units(draw)


def arcade(easel: Easel, t: float) -> None:
    """Through the lantern arcade, in perspective."""
    sway = math.sin(t * 1.3), math.sin(t * 1.9 + 1)
    easel.stage.arcade.paint(easel.rgba, easel.canvas, 2.6 * t, sway)
    right = easel.stage.units_wide
    x, y = right / 2 + 190 * math.sin(t * 1.3 + 0.5), 560 + 90 * math.sin(t * 1.9 + 1.4)
    shadow(easel, x, 900)

    def draw(canvas: Any) -> None:
        actors.glider_from_behind(canvas, x, y, 1.25, 22 * math.cos(t * 1.3 + 0.5))
        hud(canvas, right, 8.6 + t, 9)

    easel.in_units(draw)


def fog(easel: Easel, t: float) -> None:
    """Out over the water: little contrast, slow banks of mist."""
    stage = easel.stage
    easel.canvas.drawImage(stage.fog, 0, 0)
    stage.far_mist.paint(easel.canvas, stage.width, (260 * stage.scale * t, 0))
    right = stage.units_wide

    def draw(canvas: Any) -> None:
        canvas.saveLayerAlpha(box(right * 0.3, 240, 620, 420), 70)
        actors.glider(
            canvas, right * 0.4 + 62 * t, 430 + 22 * math.sin(t), 0.8, -4 * math.cos(t), 0.2
        )
        canvas.restore()

    easel.in_units(draw)
    stage.near_mist.paint(easel.canvas, stage.width, (430 * stage.scale * t, 0))


def moored(easel: Easel, t: float) -> None:
    """A still evening: nothing moves but one gull and the lighthouse lamp."""
    stage = easel.stage
    easel.rgba[...] = stage.kept("moored", lambda kept: _still_harbour(Easel(*kept, stage)))
    right = stage.units_wide
    span = right + 160

    def draw(canvas: Any) -> None:
        x = (260 + 84 * t) % span - 80
        actors.gull(canvas, x, 330 + 46 * math.sin(t * 0.7), 0.9, t * 1.1)

    easel.in_units(draw)
    lamp_x, lamp_y = stage.lamp_place(_STILL_CAMERA)
    strength = max(math.sin(2 * math.pi * t / 3.2), 0.0) ** 2
    easel.canvas.drawImage(
        stage.lamp_glow,
        lamp_x - stage.lamp_glow.width() // 2,
        lamp_y - stage.lamp_glow.height() // 2,
        skia.SamplingOptions(),
        skia.Paint(Alphaf=strength),
    )


_STILL_CAMERA = 2900.0, 0.0


def _still_harbour(easel: Easel) -> None:
    harbour(easel, _STILL_CAMERA, 4.2, with_lanterns=False)


STEPS = tuple(np.cumsum(np.random.default_rng(17).uniform(0.12, 0.42, 60)).tolist())
"""Moments at which the loading bar grows, in seconds."""


def loading(easel: Easel, t: float) -> None:
    """A near-black screen and a bar that grows in steps."""
    step = sum(t >= moment for moment in STEPS)
    easel.canvas.drawPaint(fill("0b0916"))
    right = easel.stage.units_wide
    left, width, share = right * 0.31, right * 0.38, step % 10 / 9

    def draw(canvas: Any) -> None:
        actors.letter(canvas, right / 2, 430, 1.5, -8, 1.0)
        actors.label(
            canvas, "Sorting the evening post", right / 2, 510, 38, align="centre", alpha=0.8
        )
        canvas.drawLine(left, 600, left + width, 600, stroke("2c2547", 8))
        if share:
            canvas.drawLine(left, 600, left + width * share, 600, stroke("f0b072", 8))
        actors.label(
            canvas, f"{round(share * 100)} %", right / 2, 632, 30, align="centre", alpha=0.6
        )

    easel.in_units(draw)


def arrival(easel: Easel, t: float) -> None:
    """Down to the harbour mouth, and into the night."""
    ease = 1 - math.exp(-1.1 * t)
    camera = 600 + 700 * ease, -150 + 150 * ease
    harbour(easel, camera, t + 15, with_lanterns=True)
    right = easel.stage.units_wide
    x, y = right * (0.25 + 0.35 * ease), 250 + 330 * ease

    def draw(canvas: Any) -> None:
        letters(canvas, x, y, t, every_s=0.7)
        actors.glider(canvas, x, y, 1.3 - 0.5 * ease, 14 * math.exp(-t), 0.4 * math.sin(t * 2))
        hud(canvas, right, 14.2 + t, 12)

    easel.in_units(draw)
    easel.canvas.drawPaint(fill("000000", ramp(t, 1.3, 2.1)))
