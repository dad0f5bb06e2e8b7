"""A picture and its graphics as one block, set in the middle of the area they share."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

from pacerail.compose.arrangement import Placement
from pacerail.compose.rectangle import (
    PictureShape,
    Rectangle,
    centred,
    clamped,
    even,
    fitted,
    safe_area,
)

LEAST_SHARE = 0.8
"""A single picture whose sides would shrink to less beside its graphics lies under them."""
LEAST_SHARE_STRADDLED = 0.5
"""The same where the graphics would reach over the edge of the picture. Chosen by eye."""

Where = Literal["above", "below", "left", "right"]
WHERES: tuple[Where, ...] = ("above", "below", "left", "right")

Placing = Callable[[PictureShape, Rectangle], Placement]
"""How a picture of a shape goes into a box."""


@dataclass(frozen=True)
class Block:
    """Pictures that go into one place, and the rail they keep clear of."""

    area: Rectangle
    rail: Rectangle
    shapes: tuple[PictureShape, ...]

    def shown(self, box: Rectangle, place: Placing) -> int:
        """Pixels of the picture that shows least in a box."""
        return min(place(shape, box).target.pixels for shape in self.shapes)


class Setting(NamedTuple):
    """Where the two parts of a block lie."""

    box: Rectangle
    """Of the pictures, which are placed in its middle."""
    rail: Rectangle


def set_blocks(
    blocks: Sequence[Block], canvas: tuple[int, int], place: Placing, gap: int
) -> list[Setting]:
    """All blocks with their rails on the same side of the pictures, which are equally tall.

    A single picture that would lose too much by that has all of the area, and the rail lies
    on it where it was drawn.
    gap : pixels between a picture and its rail, and between blocks above one another.
    """

    def least_shown(where: Where) -> int:
        return min(each.shown(free_box(each.area, each.rail, where, gap), place) for each in blocks)

    where = max(WHERES, key=least_shown)
    set_in = _in_rows if where in ("left", "right") else _in_columns
    settings = set_in(blocks, canvas, place, gap, where)
    if len(blocks) == 1 and _lies_better_under(blocks[0], settings[0].box, place):
        return [Setting(blocks[0].area, blocks[0].rail)]
    return settings


def free_box(area: Rectangle, rail: Rectangle, where: Where, gap: int) -> Rectangle:
    """The part of an area above, below, left or right of a rail."""
    if where == "above":
        return area._replace(height=rail.y - gap - area.y)
    if where == "below":
        return area._replace(y=rail.bottom + gap, height=area.bottom - rail.bottom - gap)
    if where == "left":
        return area._replace(width=rail.x - gap - area.x)
    return area._replace(x=rail.right + gap, width=area.right - rail.right - gap)


def place_scaled(shape: PictureShape, box: Rectangle) -> Placement:
    """The whole picture, as large as the box allows."""
    target = fitted(shape, box)
    return Placement((target.width, target.height), 0, 0, target)


def place_exact(shape: PictureShape, box: Rectangle) -> Placement:
    """The middle of the picture at its own pixels."""
    width, height = even(shape.width), even(shape.height)
    target = centred(min(width, even(box.width)), min(height, even(box.height)), box)
    return Placement(
        (width, height),
        even((width - target.width) / 2),
        even((height - target.height) / 2),
        target,
    )


def _lies_better_under(block: Block, box: Rectangle, place: Placing) -> bool:
    share = math.sqrt(block.shown(box, place) / max(block.shown(block.area, place), 1))
    pictures = [place(shape, block.area).target for shape in block.shapes]
    is_inside = all(block.rail.meet(picture) == block.rail for picture in pictures)
    return share < (LEAST_SHARE if is_inside else LEAST_SHARE_STRADDLED)


def _in_rows(
    blocks: Sequence[Block], canvas: tuple[int, int], place: Placing, gap: int, where: Where
) -> list[Setting]:
    """Pictures left or right of their rails."""
    free = [free_box(block.area, block.rail, where, gap) for block in blocks]
    rows = min(_size(block, box, place)[1] for block, box in zip(blocks, free, strict=True))
    widths = [
        _size(block, box._replace(height=rows), place)[0]
        for block, box in zip(blocks, free, strict=True)
    ]
    if len({block.area.x for block in blocks}) == 1:
        # One above the other: their rails line up.
        widths = [max(widths)] * len(blocks)
    settings = []
    for block, width in zip(blocks, widths, strict=True):
        area, rail = block.area, block.rail
        start = area.x + even((area.width - width - gap - rail.width) / 2)
        # The rail stands at the middle of the picture beside it.
        middle = centred(rail.width, rail.height, area).y
        x = start if where == "right" else start + width + gap
        rail = clamped(rail._replace(x=x, y=middle), safe_area(canvas))
        x = rail.right + gap if where == "right" else rail.x - gap - width
        settings.append(Setting(centred(width, rows, area)._replace(x=x), rail))
    return settings


def _in_columns(
    blocks: Sequence[Block], canvas: tuple[int, int], place: Placing, gap: int, where: Where
) -> list[Setting]:
    """Pictures above or below their rails."""
    safe, is_above = safe_area(canvas), where == "above"
    first, last = (0, safe.bottom) if is_above else (safe.y, canvas[1])
    areas = [block.area for block in blocks]
    if len({area.x for area in areas}) < len(areas):
        # One above the other: what is kept clear at one edge of the canvas counts for both.
        rows = even((last - first - gap) / 2)
        areas = [
            area._replace(y=first + number * (rows + gap), height=rows)
            for number, area in enumerate(areas)
        ]
    rail_rows = max(block.rail.height for block in blocks)
    room = min(min(area.bottom, last) - max(area.y, first) for area in areas) - rail_rows - gap
    rows = max(
        _size(block, area._replace(height=room), place)[1]
        for block, area in zip(blocks, areas, strict=True)
    )
    height = rows + gap + rail_rows
    settings = []
    for block, area in zip(blocks, areas, strict=True):
        top = min(max(area.y + even((area.height - height) / 2), first), last - height)
        picture_y, rail_y = (top, top + rows + gap) if is_above else (top + rail_rows + gap, top)
        x = centred(block.rail.width, block.rail.height, area).x
        rail = clamped(block.rail._replace(x=x, y=rail_y), safe)
        settings.append(Setting(area._replace(y=picture_y, height=rows), rail))
    return settings


def _size(block: Block, box: Rectangle, place: Placing) -> tuple[int, int]:
    """Width and height that hold all pictures of a block in a box."""
    targets = [place(shape, box).target for shape in block.shapes]
    return max(each.width for each in targets), max(each.height for each in targets)
