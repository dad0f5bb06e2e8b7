"""Where two platforms lie on one canvas: rectangles only, worked out before any picture.

A layout gives each platform a cell of the canvas and, in it, room for its graphics. Once
these are drawn and their rail is known, the picture is fitted beside it, and both come
together in the middle of the cell. Lengths are for the canvas of the design, chosen by eye.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from pacerail.compose.arrangement import Arrangement, Divider, Placement
from pacerail.compose.rectangle import (
    PictureShape,
    Rectangle,
    around,
    centred,
    even,
    fitted,
    safe_area,
    scaled,
)
from pacerail.errors import UsageError

GAP = 24
"""Between pictures, graphics and the borders of cells."""
PICTURE_GAP = 36
"""Between a picture and the graphics that belong to it."""
LEAST_ROOM = 540
"""Width that graphics need beside a picture, margins and all."""
USUAL_RAIL = 300
"""Height that they are taken to need above or below one, until they are drawn."""
LEAST_PICTURE = 32
"""Pixels of the shorter side of a picture that still shows something."""
LEAST_SHARE = 0.8
"""A single picture whose sides would shrink to less beside its graphics lies under them."""
INSET = 0.42
"""Longer side of the small picture, as a share of the geometric mean of the large one's."""

Where = Literal["above", "below", "left", "right"]
WHERES: tuple[Where, ...] = ("above", "below", "left", "right")


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
    gap = scaled(GAP, canvas)
    if layout in ("abreast", "split"):
        half = even(width / 2)
        left = Rectangle(0, 0, half, height)
        right = Rectangle(half, 0, width - half, height)
        return (
            Cell(left, left._replace(width=half - gap)),
            Cell(right, Rectangle(half + gap, 0, right.width - gap, height)),
        )
    if layout == "stacked":
        half = even(height / 2)
        areas = Rectangle(0, 0, width, half), Rectangle(0, half, width, height - half)
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
    place = _place_scaled if scales else _place_exact
    if layout in ("abreast", "stacked"):
        groups = [
            _Group(cell.area, rail, (shape,))
            for cell, rail, shape in zip(parts, rails, shapes, strict=True)
        ]
    else:
        whole = Rectangle(0, 0, *canvas)
        seen = {"first": shapes[:1], "second": shapes[1:], "inset": shapes[:1]}
        groups = [_Group(whole, around(rails), tuple(seen.get(layout, shapes)))]
    boxes, shifts = _set(groups, canvas, place)
    if len(groups) < len(rails):
        shifts = shifts * len(rails)
    first: Placement | None = place(shapes[0], boxes[0])
    second: Placement | None = place(shapes[1], boxes[-1])
    if layout == "first":
        second = None
    elif layout == "second":
        first = None
    elif layout == "inset" and first is not None:
        second = place(shapes[1], _inset_box(canvas, first.target, shapes[1], rails[0]))
    is_split = layout == "split"
    arrangement = Arrangement(
        canvas, (first, second), tuple(shifts), (divider or Divider()) if is_split else None
    )
    if any(min(place.target[2:]) < LEAST_PICTURE for place in arrangement.placed):
        raise UsageError(
            f"graphics must leave room for the pictures, got {canvas[0]}x{canvas[1]} with rails "
            f"of {rails[0].width}x{rails[0].height}; choose a larger canvas or another style"
        )
    return arrangement


def free_box(area: Rectangle, rail: Rectangle, where: Where, gap: int) -> Rectangle:
    """The part of an area above, below, left or right of a rail."""
    if where == "above":
        return area._replace(height=rail.y - gap - area.y)
    if where == "below":
        return area._replace(y=rail.bottom + gap, height=area.bottom - rail.bottom - gap)
    if where == "left":
        return area._replace(width=rail.x - gap - area.x)
    return area._replace(x=rail.right + gap, width=area.right - rail.right - gap)


def tab(
    size: tuple[int, int],
    canvas: tuple[int, int],
    picture: Rectangle,
    taken: Sequence[Rectangle],
) -> Rectangle:
    """Where a note of an even size on a picture goes, out of the way.

    Above or below the picture where the canvas has room there, else at the first of the
    places that are taken, which is the rail: above, below, right or left of it. Of these,
    the first inside the graphics-safe area that covers nothing taken, or else least.
    """
    width, height = size
    safe, rail = safe_area(canvas), taken[0]
    x = max(picture.x, safe.x)
    spots = [
        Rectangle(x, picture.y - height, width, height),
        Rectangle(x, picture.bottom, width, height),
        Rectangle(rail.x, rail.y - height, width, height),
        Rectangle(rail.x, rail.bottom, width, height),
        Rectangle(rail.right, rail.y, width, height),
        Rectangle(rail.x - width, rail.y, width, height),
    ]
    inside = [spot for spot in spots if spot.meet(safe) == spot] or [
        Rectangle(safe.x, safe.y, width, height)
    ]
    return min(inside, key=lambda spot: sum(spot.meet(other).pixels for other in taken))


@dataclass(frozen=True)
class _Group:
    """Pictures that go into one place, and the rail they keep clear of."""

    area: Rectangle
    rail: Rectangle
    shapes: tuple[PictureShape, ...]


Placing = Callable[[PictureShape, Rectangle], Placement]


def _set(
    groups: Sequence[_Group], canvas: tuple[int, int], place: Placing
) -> tuple[list[Rectangle], list[int]]:
    """For each group the box of its pictures, and by how many rows its rail moves down.

    Picture and rail come together in the middle of their area. A picture that would lose
    too much by that has all of the area, and the rail lies on it where it was drawn.
    """
    gap, safe = scaled(PICTURE_GAP, canvas), safe_area(canvas)

    def shown(group: _Group, box: Rectangle) -> int:
        return min(place(shape, box).target.pixels for shape in group.shapes)

    def least_shown(where: Where) -> int:
        return min(shown(each, free_box(each.area, each.rail, where, gap)) for each in groups)

    where = max(WHERES, key=least_shown)
    boxes = [free_box(group.area, group.rail, where, gap) for group in groups]
    if where in ("left", "right"):
        # The rail stands at the middle of the picture beside it.
        middles = [centred(*each.rail[2:], each.area).y for each in groups]
        tops = [
            min(max(middle, safe.y), safe.bottom - each.rail.height)
            for middle, each in zip(middles, groups, strict=True)
        ]
    else:
        boxes, tops = _columns(groups, canvas, place, is_above=where == "above")
    if len(groups) == 1:
        whole = groups[0].area
        if shown(groups[0], boxes[0]) < LEAST_SHARE**2 * shown(groups[0], whole):
            return [whole], [0]
    return boxes, [top - group.rail.y for top, group in zip(tops, groups, strict=True)]


def _columns(
    groups: Sequence[_Group], canvas: tuple[int, int], place: Placing, *, is_above: bool
) -> tuple[list[Rectangle], list[int]]:
    """Pictures above or below their rails: boxes of the pictures, and top rows of the rails.

    All pictures have boxes of the same height, so that none looks favoured.
    """
    gap, safe = scaled(PICTURE_GAP, canvas), safe_area(canvas)
    first, last = (0, safe.bottom) if is_above else (safe.y, canvas[1])
    areas = [group.area for group in groups]
    if len({area.x for area in areas}) < len(areas):
        # One above the other: what is kept clear at one edge of the canvas counts for both.
        half = even((last - first) / 2)
        areas = [
            area._replace(y=first + number * half, height=half) for number, area in enumerate(areas)
        ]
    rail_rows = max(group.rail.height for group in groups)
    room = min(min(area.bottom, last) - max(area.y, first) for area in areas) - rail_rows - gap
    rows = max(
        place(shape, area._replace(height=room)).target.height
        for group, area in zip(groups, areas, strict=True)
        for shape in group.shapes
    )
    block = rows + gap + rail_rows
    tops = [
        min(max(area.y + even((area.height - block) / 2), first), last - block) for area in areas
    ]
    offset = 0 if is_above else rail_rows + gap
    boxes = [
        area._replace(y=top + offset, height=rows) for area, top in zip(areas, tops, strict=True)
    ]
    return boxes, [top + rows + gap if is_above else top for top in tops]


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
    within = main.meet(safe_area(canvas))
    side = even(INSET * math.sqrt(main.pixels))
    inset = fitted(shape, Rectangle(0, 0, min(side, within.width), min(side, within.height)))
    upper = Rectangle(within.right - inset.width, within.y, inset.width, inset.height)
    spots = [upper, upper._replace(x=within.x)]
    spots += [spot._replace(y=within.bottom - inset.height) for spot in spots]
    return min(spots, key=lambda box: box.meet(rail).pixels)


def _place_scaled(shape: PictureShape, box: Rectangle) -> Placement:
    target = fitted(shape, box)
    return Placement((target.width, target.height), 0, 0, target)


def _place_exact(shape: PictureShape, box: Rectangle) -> Placement:
    """The middle of the picture at its own pixels."""
    width, height = even(shape.width), even(shape.height)
    target = centred(min(width, even(box.width)), min(height, even(box.height)), box)
    return Placement(
        (width, height),
        even((width - target.width) / 2),
        even((height - target.height) / 2),
        target,
    )
