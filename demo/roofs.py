"""The roofs of harbour houses: gables, tiles, dormers, chimneys."""

from __future__ import annotations

from typing import Any

import skia

from demo.canvas import box, fill, gradient, mixed, polygon, stroke
from demo.house import House


def add_roof(house: House) -> None:
    """Put a roof of one of three kinds onto a house that has no front wall yet.

    Chimneys stand behind it, so they come first.
    """
    rng = house.rng
    ridge = min(rng.uniform(0.3, 0.62) * house.width, 95 * house.u)
    kind = rng.choice(["gable", "long", "step"], p=[0.4, 0.42, 0.18])
    _chimney(house, house.x + house.width * rng.uniform(0.15, 0.8), ridge)
    house.wall(house.x, house.top, house.width, house.base - house.top)
    if kind == "gable":
        _gable(house, ridge)
    elif kind == "long":
        _long_roof(house, ridge * 0.8)
    else:
        _stepped_gable(house, ridge)


def _tiles(house: House, path: Any, left: float, right: float, top: float, bottom: float) -> None:
    """Roof surface: rows of tiles inside a path, some weathered."""
    rng, u, canvas = house.rng, house.u, house.canvas
    dark, pale = mixed(house.roof_tone, "07061a", 0.5), mixed(house.roof_tone, house.style.rim, 0.4)
    canvas.drawPath(
        path,
        gradient(
            (left, top),
            (right, bottom),
            [(0, mixed(house.roof_tone, dark, 0.35), 1), (1, house.roof_tone, 1)],
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
                    box(x, y + u, tile, row_height - u),
                    fill(tone, rng.uniform(0.1, 0.34)),
                )
    canvas.restore()


def _gable(house: House, ridge: float) -> None:
    """The gable faces us: the wall runs up into a triangle."""
    u, canvas = house.u, house.canvas
    over = 6 * u
    peak = (house.x + house.width / 2, house.top - ridge)
    left, right = (
        (house.x - over, house.top + 4 * u),
        (house.x + house.width + over, house.top + 4 * u),
    )
    canvas.save()
    canvas.clipPath(polygon([left, peak, right]), doAntiAlias=True)
    house.wall(house.x, peak[1], house.width, house.top - peak[1] + 4 * u)
    canvas.restore()
    eye = box(peak[0] - 7 * u, house.top - ridge * 0.52, 14 * u, 17 * u)
    canvas.drawRRect(skia.RRect.MakeRectXY(eye, 7 * u, 7 * u), fill("1d1840"))
    board = mixed(house.roof_tone, "0b0920", 0.35)
    canvas.drawPath(polygon([left, peak, right], closed=False), _pen(board, 7 * u))
    canvas.drawLine(*peak, *right, stroke(house.style.rim, 2.1 * u, 0.75))


def _long_roof(house: House, ridge: float) -> None:
    """The ridge runs along the street: we look onto the tiles."""
    u = house.u
    over, inset = 6 * u, house.rng.uniform(0.03, 0.14) * house.width
    left, right, bottom = house.x - over, house.x + house.width + over, house.top + 5 * u
    top = house.top - ridge
    path = polygon(
        [
            (left, bottom),
            (house.x + inset, top),
            (house.x + house.width - inset, top),
            (right, bottom),
        ]
    )
    _tiles(house, path, left, right, top, bottom)
    house.canvas.drawLine(
        house.x + inset,
        top,
        house.x + house.width - inset,
        top,
        stroke(house.style.rim, 2.6 * u, 0.7),
    )
    house.canvas.drawLine(left, bottom, right, bottom, stroke("0b0920", 3 * u, 0.7))
    if house.rng.random() < 0.6:
        _dormer(
            house,
            house.x + house.width * house.rng.uniform(0.3, 0.7),
            top + ridge * 0.9,
            ridge * 0.62,
        )


def _dormer(house: House, middle: float, bottom: float, height: float) -> None:
    u, half = house.u, 15 * house.u
    house.wall(middle - half, bottom - height * 0.6, 2 * half, height * 0.6)
    house.window(middle, bottom - height * 0.5, 13 * u, height * 0.36, shutters=False)
    roof = polygon(
        [
            (middle - half - 4 * u, bottom - height * 0.58),
            (middle, bottom - height * 1.1),
            (middle + half + 4 * u, bottom - height * 0.58),
        ]
    )
    house.canvas.drawPath(roof, fill(mixed(house.roof_tone, "0b0920", 0.25)))
    house.canvas.drawLine(
        middle,
        bottom - height * 1.1,
        middle + half + 4 * u,
        bottom - height * 0.58,
        stroke(house.style.rim, 1.6 * u, 0.7),
    )


def _stepped_gable(house: House, ridge: float) -> None:
    steps, u = 4, house.u
    for k in range(steps):
        inset = house.width * 0.5 * k / steps
        y = house.top - ridge * 0.9 * (k + 1) / steps
        house.wall(house.x + inset, y, house.width - 2 * inset, ridge * 0.9 / steps + u)
        house.canvas.drawLine(
            house.x + inset,
            y,
            house.x + house.width - inset,
            y,
            stroke(house.style.rim, 2 * u, 0.5),
        )


def _chimney(house: House, x: float, ridge: float) -> None:
    u, rng = house.u, house.rng
    width, top = rng.uniform(13, 19) * u, house.top - ridge - rng.uniform(4, 26) * u
    house.wall(x, top, width, house.top - top)
    cap = box(x - 2.5 * u, top - 5 * u, width + 5 * u, 6 * u)
    house.canvas.drawRect(cap, fill(mixed(house.wall_tone, "0b0920", 0.5)))
    for k in range(2):
        pot = box(x + (1.5 + k * 7) * u, top - 14 * u, 5 * u, 10 * u)
        house.canvas.drawRect(pot, fill(house.hazed("a5523f")))
    house.canvas.drawLine(
        x + width, top, x + width, house.top, stroke(house.style.rim, 1.6 * u, 0.6)
    )


def _pen(text: str, width: float) -> Any:
    pen = stroke(text, width)
    pen.setStrokeJoin(skia.Paint.kMiter_Join)
    return pen
