"""What moves through the harbour: the paper glider, letters, gulls, lantern posts."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
import skia

from demo.canvas import box, fill, font, glow, gradient, image_of, mixed, polygon, stroke, tinted
from demo.looks import Look


def glider(canvas: Any, x: float, y: float, size: float, pitch_deg: float, roll: float) -> None:
    """The paper glider flying to the right, about ``200 * size`` units long.

    roll : from -1 to 1; lifts one wing and drops the other.
    """
    canvas.save()
    canvas.translate(x, y)
    canvas.scale(size, size)
    canvas.rotate(pitch_deg)
    nose = (104.0, -4.0)
    spine = (-72.0, -2.0)
    far_tip = (-96.0, -44.0 - 16.0 * roll)
    far_root = (-78.0, -8.0)
    near_tip = (-58.0, 40.0 - 16.0 * roll)
    near_root = (-84.0, 4.0)
    keel = (-50.0, 27.0 - 3.0 * roll)
    canvas.drawPath(
        polygon([nose, far_tip, far_root]),
        gradient(nose, far_tip, [(0, "fff4e2", 1), (0.6, "f3d9cd", 1), (1, "cfaab6", 1)]),
    )
    canvas.drawPath(
        polygon([nose, spine, keel]), gradient(nose, keel, [(0, "8d6f93", 1), (1, "5b466f", 1)])
    )
    canvas.drawPath(
        polygon([nose, near_root, near_tip]),
        gradient(nose, near_tip, [(0, "fffaf0", 1), (0.55, "fbe3cd", 1), (1, "e8b9a4", 1)]),
    )
    _airmail_edge(canvas, near_root, near_tip)
    _airmail_edge(canvas, far_root, far_tip)
    seal = _between(nose, near_tip, 0.62)
    canvas.drawCircle(seal[0] - 8, seal[1] - 12, 5.5, fill("c33d45"))
    canvas.drawLine(*nose, *near_root, stroke("7e6183", 1.4, 0.75))
    canvas.drawLine(*nose, *near_tip, stroke("ffffff", 1.6, 0.9))
    canvas.drawLine(*nose, *far_tip, stroke("ffd9a8", 1.8, 0.95))
    canvas.restore()


def glider_from_behind(canvas: Any, x: float, y: float, size: float, bank_deg: float) -> None:
    """The same glider flying away from us."""
    canvas.save()
    canvas.translate(x, y)
    canvas.scale(size, size)
    canvas.rotate(bank_deg)
    nose = (0.0, -46.0)
    for side, shades in ((-1.0, ("cfa4ad", "f0d6cc")), (1.0, ("fbe3cd", "fffaf0"))):
        tip, root = (side * 128, 10.0), (side * 14, 22.0)
        stops = [(0.0, shades[0], 1.0), (1.0, shades[1], 1.0)]
        canvas.drawPath(polygon([nose, tip, root]), gradient(root, tip, stops))
        keel = polygon([nose, root, (0, 62)])
        canvas.drawPath(keel, fill("6d5378" if side < 0 else "937093"))
        _airmail_edge(canvas, root, tip)
        canvas.drawLine(*nose, *tip, stroke("ffe3bd", 2.0, 0.95))
    canvas.drawLine(*nose, 0, 62, stroke("4d3a60", 2.0, 0.8))
    canvas.restore()


def _airmail_edge(canvas: Any, start: tuple[float, float], end: tuple[float, float]) -> None:
    for k in range(5):
        a, b = _between(start, end, 0.08 + k * 0.18), _between(start, end, 0.17 + k * 0.18)
        canvas.drawLine(*a, *b, stroke("b8434c" if k % 2 else "3f5f97", 3.4))


def _between(a: tuple[float, float], b: tuple[float, float], share: float) -> tuple[float, float]:
    return a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share


def letter(canvas: Any, x: float, y: float, size: float, turn_deg: float, tilt: float) -> None:
    """A fluttering envelope; tilt from -1 to 1 is how far its face is turned to us."""
    canvas.save()
    canvas.translate(x, y)
    canvas.rotate(turn_deg)
    canvas.scale(size, size * (0.25 + 0.75 * abs(tilt)))
    face = box(-19, -13, 38, 26)
    canvas.drawRect(face, fill(mixed("fff3df", "c79aa2", 0.5 - 0.5 * tilt)))
    canvas.drawPath(polygon([(-19, -13), (0, 3), (19, -13)], closed=False), stroke("a87c86", 1.6))
    canvas.drawCircle(0, 2, 3.2, fill("c33d45"))
    canvas.restore()


def gull(canvas: Any, x: float, y: float, size: float, beat: float, tone: str = "f6e3dc") -> None:
    """A gull; beat is the phase of its wings in turns."""
    lift = math.sin(2 * math.pi * beat)
    path = skia.Path()
    path.moveTo(x - 24 * size, y - 9 * lift * size)
    path.quadTo(x - 10 * size, y - (9 + 6 * lift) * size, x, y)
    path.quadTo(x + 10 * size, y - (9 + 6 * lift) * size, x + 24 * size, y - 9 * lift * size)
    canvas.drawPath(path, stroke(tone, 3.2 * size))
    canvas.drawOval(box(x - 6 * size, y - 2.4 * size, 15 * size, 5 * size), fill(tone))


def shadow(scale: float, length: float) -> Any:
    """A soft glider shadow as an image, `length` design units long."""
    columns, rows = max(round(length * scale), 8), max(round(length * 0.32 * scale), 4)
    x = np.linspace(-1, 1, columns)[None, :]
    y = np.linspace(-1, 1, rows)[:, None]
    alpha = np.clip(1 - x**2 - y**2, 0, 1) ** 1.4 * 0.6
    return image_of(tinted(alpha, (10, 8, 30)))


def lamp_glow(scale: float) -> Any:
    """The lighthouse lamp's light, an image centred on the lamp."""
    length = max(round(420 * scale) // 2 * 2, 8)
    place = np.linspace(-1, 1, length)
    x, y = place[None, :], place[:, None]
    core = np.exp(-(x**2 + y**2) / 0.006)
    halo = 0.5 * np.exp(-(x**2 + y**2) / 0.06)
    beam = 0.5 * np.exp(-((y / 0.035) ** 2)) * np.clip(1 - np.abs(x), 0, 1)
    alpha = np.clip(core + halo + beam, 0, 1) * (np.clip(1 - np.hypot(x, y), 0, 1) > 0)
    return image_of(tinted(alpha, (255, 240, 200)))


def lantern_row(look: Look, width: float, height: float, count: int, seed: int) -> Any:
    """Draw function of a foreground: posts with a line of small lanterns swung between."""
    rng = np.random.default_rng(seed)
    places = (np.arange(count) + rng.uniform(0.2, 0.6, count)) * width / count
    lit = rng.random(count * 8) < look.lanterns
    hues = rng.choice(["ffcf73", "ff9d5c", "ffe2a6", "f7788a", "8fd0c9"], count * 8)

    def draw(canvas: Any) -> None:
        ends = [places[-1] - width, *places.tolist(), places[0] + width]
        for k, (start, end) in enumerate(pairwise(ends)):
            lamps = slice((k - 1) % count * 8, None)
            _festoon(canvas, start, end, 120, lit[lamps], hues[lamps])
        for x in places.tolist():
            stops = [(0.0, "0c0a20", 1.0), (0.7, "1d1638", 1.0), (1.0, "7d4b54", 1.0)]
            post = box(x - 8, 88, 16, height)
            canvas.drawRect(post, gradient((x - 8, 0), (x + 8, 0), stops))
            cap = box(x - 15, 74, 30, 18)
            canvas.drawRRect(skia.RRect.MakeRectXY(cap, 6, 6), fill("120e28"))

    return draw


def _festoon(canvas: Any, start: float, end: float, y: float, lit: Any, hues: Any) -> None:
    sag, lamps = (end - start) * 0.16, 8
    middle = (start + end) / 2
    path = skia.Path()
    path.moveTo(start, y)
    path.quadTo(middle, y + 2 * sag, end, y)
    canvas.drawPath(path, stroke("120e28", 4))
    for k in range(lamps):
        share = (k + 0.5) / lamps
        x = start + (end - start) * share
        bottom = y + 4 * sag * share * (1 - share)
        hue = str(hues[k])
        canvas.drawLine(x, bottom, x, bottom + 14, stroke("120e28", 2.5))
        body = box(x - 16, bottom + 14, 32, 40)
        if lit[k]:
            stops = [(0.0, hue, 0.5), (0.35, hue, 0.16), (1.0, hue, 0.0)]
            canvas.drawCircle(x, bottom + 34, 92, glow(x, bottom + 34, 92, stops))
            face = glow(
                x,
                bottom + 36,
                30,
                [(0, "fff6dc", 1), (0.6, hue, 1), (1, mixed(hue, "a2452f", 0.5), 1)],
            )
        else:
            face = fill(mixed(hue, "241b3f", 0.72))
        canvas.drawRRect(skia.RRect.MakeRectXY(body, 13, 15), face)
        for cap in (bottom + 12, bottom + 52):
            canvas.drawRect(box(x - 9, cap, 18, 4.5), fill("120e28"))
        for rib in (-8, 0, 8):
            canvas.drawLine(
                x + rib, bottom + 17, x + rib * 0.9, bottom + 52, stroke("7a2e2a", 1.2, 0.4)
            )


def clock(canvas: Any, right: float, top: float, program_s: float, size: float) -> None:
    """The program's clock, ``hh:mm:ss``, right-aligned; it starts at 19:42."""
    total = 19 * 3600 + 42 * 60 + int(program_s)
    text = f"{total // 3600:02}:{total // 60 % 60:02}:{total % 60:02}"
    label(canvas, text, right, top, size, align="right")


def label(
    canvas: Any,
    text: str,
    x: float,
    top: float,
    size: float,
    *,
    align: str = "left",
    weight: str = "Medium",
    tone: str = "fff1dd",
    alpha: float = 1.0,
) -> None:
    """One line of type with a soft edge under it, so that it reads on any sky."""
    face = font(size, weight)
    width = face.measureText(text)
    left = x - {"left": 0.0, "right": width, "centre": width / 2}[align]
    baseline = top + size * 0.8
    canvas.drawString(
        text, left + size * 0.03, baseline + size * 0.05, face, fill("140f30", 0.55 * alpha)
    )
    canvas.drawString(text, left, baseline, face, fill(tone, alpha))
