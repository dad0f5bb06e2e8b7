"""Where two platforms lie on one canvas: rectangles only, worked out before any picture.

A layout gives each platform a cell of the canvas and, in it, room for its graphics. Once
these are drawn and their rail is known, the picture is fitted beside it, and both come
together in the middle of the cell. Lengths are for the canvas of the design, chosen by eye.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from pacerail.compose.arrangement import Arrangement, Divider, Placement
from pacerail.compose.blocks import Block, place_exact, place_scaled, set_blocks
from pacerail.compose.rectangle import (
    SAFE,
    PictureShape,
    Rectangle,
    around,
    clamped,
    even,
    fitted,
    safe_area,
    scaled,
)
from pacerail.errors import UsageError

GAP = 24
"""Between graphics and the borders of cells."""
SEAM = 12
"""Between pictures side by side, so that they do not run into one."""
PICTURE_GAP = 36
"""Between a picture and the graphics that belong to it."""
NAME_GAP = 56
"""The same where the platform's name may lie between them; no shipped style's is taller."""
LEAST_ROOM = 540
"""Width that graphics need beside a picture, margins and all."""
USUAL_RAIL = 300
"""Height that they are taken to need above or below one, until they are drawn."""
LEAST_PICTURE = 32
"""Pixels of the shorter side of a picture that still shows something."""
INSET = 0.42
"""Longer side of the small picture, as a share of the geometric mean of the large one's."""


@dataclass(frozen=True)
class Cell:
    """The part of a canvas that belongs to one platform, or to both."""

    area: Rectangle
    room: Rectangle
    """Where its graphics may lie."""


def cells(layout: str, canvas: tuple[int, int], shapes: Sequence[PictureShape]) -> tuple[Cell, ...]:
    """One cell per platform, or a single one where they share the graphics.

    shapes : of the pictures of both platforms.
    """
    width, height = canvas
    gap, seam = scaled(GAP, canvas), scaled(SEAM, canvas) // 4 * 2
    if layout in ("abreast", "split"):
        half = even(width / 2)
        areas = (
            Rectangle(0, 0, half - seam, height),
            Rectangle(half + seam, 0, width - half - seam, height),
        )
        rooms = (
            Rectangle(0, 0, half - gap, height),
            Rectangle(half + gap, 0, width - half - gap, height),
        )
        return Cell(areas[0], rooms[0]), Cell(areas[1], rooms[1])
    if layout == "stacked":
        half = even(height / 2)
        areas = (
            Rectangle(0, 0, width, half - seam),
            Rectangle(0, half + seam, width, height - half - seam),
        )
        taken = _width_beside_graphics(areas[0], shapes, canvas)
        upper, lower = (area._replace(x=taken, width=width - taken) for area in areas)
        return Cell(areas[0], upper), Cell(areas[1], lower)
    whole = Rectangle(0, 0, width, height)
    return (Cell(whole, whole),)


def arrange(
    layout: str,
    canvas: tuple[int, int],
    shapes: Sequence[PictureShape],
    rails: Sequence[Rectangle],
    *,
    scales: bool = True,
    divider: Divider | None = None,
) -> Arrangement:
    """Place the pictures of both platforms, of which a layout may leave one out.

    rails : what the graphics of each of `cells` take.
    scales : False keeps every picture at its own pixels and shows the middle of what is
    too large.
    Raises UsageError when the graphics leave no room for pictures.
    """
    parts = cells(layout, canvas, shapes)
    place = place_scaled if scales else place_exact
    if layout in ("abreast", "stacked"):
        blocks = [
            Block(cell.area, rail, (shape,))
            for cell, rail, shape in zip(parts, rails, shapes, strict=True)
        ]
    else:
        whole = Rectangle(0, 0, *canvas)
        seen = {"first": shapes[:1], "second": shapes[1:], "inset": shapes[:1]}
        blocks = [Block(whole, around(rails), tuple(seen.get(layout, shapes)))]
    gap = scaled(NAME_GAP if len(parts) == 1 else PICTURE_GAP, canvas)
    settings = set_blocks(blocks, canvas, place, gap)
    moves = [
        (setting.rail.x - block.rail.x, setting.rail.y - block.rail.y)
        for block, setting in zip(blocks, settings, strict=True)
    ]
    if len(blocks) < len(rails):
        moves = moves * len(rails)
    first: Placement | None = place(shapes[0], settings[0].box)
    second: Placement | None = place(shapes[1], settings[-1].box)
    if layout == "first":
        second = None
    elif layout == "second":
        first = None
    elif layout == "inset" and first is not None:
        second = place(shapes[1], _inset_box(canvas, first.target, shapes[1], settings[0].rail))
    is_split = layout == "split"
    arrangement = Arrangement(
        canvas, (first, second), tuple(moves), (divider or Divider()) if is_split else None
    )
    if any(min(place.target[2:]) < LEAST_PICTURE for place in arrangement.placed):
        raise UsageError(
            f"graphics must leave room for the pictures, got {canvas[0]}x{canvas[1]} with rails "
            f"of {rails[0].width}x{rails[0].height}; choose a larger canvas or another style"
        )
    return arrangement


def tab(
    size: tuple[int, int],
    canvas: tuple[int, int],
    picture: Rectangle,
    taken: Sequence[Rectangle],
) -> Rectangle:
    """Where a note of an even size on a picture goes, out of the way.

    Beside the first of the places that are taken, which is the rail, or above or below the
    picture. Of these, moved into the graphics-safe area, the first that covers nothing, or
    else least; what is taken counts for more than the picture.
    """
    width, height = size
    safe, rail = safe_area(canvas), taken[0]
    x = max(picture.x, safe.x)
    spots = [
        clamped(Rectangle(*corner, width, height), safe)
        for corner in (
            (rail.x, rail.y - height),
            (rail.x, rail.bottom),
            (x, picture.y - height),
            (x, picture.bottom),
            (rail.right, rail.y),
            (rail.x - width, rail.y),
        )
    ]

    def covered(spot: Rectangle) -> tuple[int, int]:
        return sum(spot.meet(each).pixels for each in taken), spot.meet(picture).pixels

    return min(spots, key=covered)


def _width_beside_graphics(
    area: Rectangle, shapes: Sequence[PictureShape], canvas: tuple[int, int]
) -> int:
    """Columns for a picture with graphics beside it; 0 where it is larger without."""
    shape = max(shapes, key=lambda shape: shape.aspect)
    least, rail = scaled(LEAST_ROOM, canvas), scaled(USUAL_RAIL, canvas)
    beside = fitted(shape, area._replace(width=area.width - least))
    beneath = fitted(shape, area._replace(height=area.height - rail))
    return beside.width + scaled(PICTURE_GAP, canvas) if beside.pixels > beneath.pixels else 0


def _inset_box(
    canvas: tuple[int, int], main: Rectangle, shape: PictureShape, rail: Rectangle
) -> Rectangle:
    """A box of the picture's own shape in an upper corner of the main one, or below."""
    across, down = even(SAFE * main.width), even(SAFE * main.height)
    inner = Rectangle(
        main.x + across, main.y + down, main.width - 2 * across, main.height - 2 * down
    )
    within = inner.meet(safe_area(canvas))
    side = even(INSET * math.sqrt(main.pixels))
    inset = fitted(shape, Rectangle(0, 0, min(side, within.width), min(side, within.height)))
    upper = Rectangle(within.right - inset.width, within.y, inset.width, inset.height)
    spots = [upper, upper._replace(x=within.x)]
    spots += [spot._replace(y=within.bottom - inset.height) for spot in spots]
    return min(spots, key=lambda box: box.meet(rail).pixels)
