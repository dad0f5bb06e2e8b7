"""Where two platforms lie on one canvas: rectangles only, worked out before any picture.

A layout gives each platform a cell of the canvas and, in it, room for its graphics. Once
these are drawn and their rail is known, the picture takes what the rail leaves of the cell.
Every number is even, so that no chroma sample is shared between a picture and its neighbour.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

LAYOUTS = ("abreast", "stacked", "split", "inset", "first", "second")
"""Side by side; one above the other; one picture cut by a line; the second small on the
first; the first or the second alone, under the graphics of both."""

DESIGN_SIDE = 1080
"""Lengths below are for a canvas whose shorter side has this many pixels. Chosen by eye."""
GAP = 24
"""Between pictures, graphics and the borders of cells."""
LEAST_ROOM = 620
"""Graphics lie beside a picture only where they have this much room there."""
INSET = 0.42
"""Longer side of the small picture, as a share of the geometric mean of the canvas's sides."""
SAFE = 0.05
"""EBU R 95: graphics, and pictures that act as such, keep this share clear at every edge."""
SWEEP = (0.1, 0.9)
"""Shares of the picture between which a moving line goes."""


class Rectangle(NamedTuple):
    """A part of the canvas in whole pixels."""

    x: int
    y: int
    width: int
    height: int

    @property
    def right(self) -> int:
        """First column to the right."""
        return self.x + self.width

    @property
    def bottom(self) -> int:
        """First row below."""
        return self.y + self.height

    def meet(self, other: Rectangle) -> Rectangle:
        """What both cover; no pixels where they lie apart."""
        x, y = max(self.x, other.x), max(self.y, other.y)
        width, height = min(self.right, other.right) - x, min(self.bottom, other.bottom) - y
        return Rectangle(x, y, max(width, 0), max(height, 0))

    @property
    def pixels(self) -> int:
        """Area."""
        return self.width * self.height


@dataclass(frozen=True)
class Cell:
    """The part of a canvas that belongs to one platform, or to both."""

    area: Rectangle
    room: Rectangle
    """Where its graphics may lie."""


@dataclass(frozen=True)
class Placement:
    """How a picture comes onto the canvas: scaled to a size, of which a part is shown."""

    size: tuple[int, int]
    """Width and height of the whole picture after scaling, as it is seen."""
    source_x: int
    source_y: int
    target: Rectangle
    """Where on the canvas; as large as the part that is shown."""

    def within(self, window: Rectangle) -> Placement:
        """The same picture in the same place, as far as a window of the canvas shows it."""
        target = self.target.meet(window)
        return Placement(
            self.size,
            self.source_x + target.x - self.target.x,
            self.source_y + target.y - self.target.y,
            target,
        )


@dataclass(frozen=True)
class Divider:
    """The line between the two platforms of a split picture."""

    share: Fraction = Fraction(1, 2)
    """Of the picture's width, where the line stands; unless it moves."""
    sweep_s: Fraction | None = None
    """Seconds in which it goes to and fro once, slowing down at the ends; None to stand."""

    def share_at(self, moment_s: Fraction) -> float:
        """Where it is, as a share of the picture's width; a moving one starts at its middle."""
        if self.sweep_s is None:
            return float(self.share)
        low, high = SWEEP
        turn = math.tau * float(moment_s % self.sweep_s / self.sweep_s)
        return (low + high) / 2 - (high - low) / 2 * math.sin(turn)


@dataclass(frozen=True)
class Arrangement:
    """Where the pictures lie, in the order in which they are painted."""

    canvas: tuple[int, int]
    placements: tuple[Placement | None, Placement | None]
    """Of the first and the second platform; None where no picture is shown."""
    divider: Divider | None = None

    def shown(self, moment_s: Fraction) -> Iterator[tuple[int, Placement]]:
        """Which platform is painted where at a moment of the clip; windows may be empty."""
        column = self.divider_column(moment_s)
        width, height = self.canvas
        whole = Rectangle(0, 0, width, height)
        windows = [whole, whole]
        if column is not None:
            windows = [Rectangle(0, 0, column, height), Rectangle(column, 0, width, height)]
        for side, placement in enumerate(self.placements):
            if placement is not None:
                yield side, placement.within(windows[side])

    def divider_column(self, moment_s: Fraction) -> int | None:
        """First column of the second platform's part of a split picture."""
        if self.divider is None:
            return None
        left, right = _span([each.target for each in self.placements if each is not None])
        return left + even((right - left) * self.divider.share_at(moment_s))


@dataclass(frozen=True)
class PictureShape:
    """Size of a picture as it is seen, and how wide its pixels are."""

    width: int
    height: int
    pixel_aspect: Fraction = Fraction(1)

    @property
    def aspect(self) -> Fraction:
        """Width over height on a screen."""
        return Fraction(self.width, self.height) * self.pixel_aspect


def even(value: float | Fraction) -> int:
    """Greatest even whole number that is not greater."""
    return 2 * math.floor(value / 2)


def scaled(length: float, canvas: tuple[int, int]) -> int:
    """Even pixels of a length of the design on a canvas, at least 2."""
    return max(even(length * min(canvas) / DESIGN_SIDE + 1), 2)


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
        aspect = max(shape.aspect for shape in shapes)
        beside = even(half * aspect) + gap
        if width - beside < scaled(LEAST_ROOM, canvas):
            beside = 0
        upper, lower = (area._replace(x=beside, width=width - beside) for area in areas)
        return (
            Cell(areas[0], upper._replace(height=half - gap)),
            Cell(areas[1], lower._replace(y=half + gap, height=lower.height - gap)),
        )
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
    """
    place = _place_scaled if scales else _place_exact
    width, height = canvas
    whole = Rectangle(0, 0, width, height)
    first: Placement | None = place(shapes[0], whole)
    second: Placement | None = place(shapes[1], whole)
    if layout in ("abreast", "stacked"):
        gap = scaled(GAP, canvas)
        first, second = (
            place(shape, free_box(cell.area, rail, shape, gap))
            for cell, rail, shape in zip(cells(layout, canvas, shapes), rails, shapes, strict=True)
        )
    elif layout == "split":
        return Arrangement(canvas, (first, second), divider or Divider())
    elif layout == "inset":
        second = place(shapes[1], _inset_box(canvas, shapes[1], rails[0]))
    elif layout == "first":
        second = None
    else:
        first = None
    return Arrangement(canvas, (first, second))


def free_box(area: Rectangle, rail: Rectangle, shape: PictureShape, gap: int) -> Rectangle:
    """The part of an area above, below, left or right of a rail that shows a picture largest."""
    boxes = [
        area._replace(height=rail.y - gap - area.y),
        area._replace(y=rail.bottom + gap, height=area.bottom - rail.bottom - gap),
        area._replace(width=rail.x - gap - area.x),
        area._replace(x=rail.right + gap, width=area.right - rail.right - gap),
    ]
    return max(boxes, key=lambda box: fitted(shape, box).pixels)


def fitted(shape: PictureShape, box: Rectangle) -> Rectangle:
    """The largest even rectangle of a picture's shape in the middle of a box.

    A picture that is within a pixel of filling the box fills it.
    """
    if min(box.width, box.height) < 2:
        return Rectangle(box.x, box.y, 0, 0)
    width = min(Fraction(box.width), box.height * shape.aspect)
    return _centred(_even_near(width, box.width), _even_near(width / shape.aspect, box.height), box)


def fits(size: tuple[int, int], box: Rectangle) -> bool:
    """True when a box has room for a width and height."""
    return size[0] <= box.width and size[1] <= box.height


def free_corner(
    size: tuple[int, int], canvas: tuple[int, int], rails: Sequence[Rectangle]
) -> Rectangle:
    """A corner of the graphics-safe area for something of an even size, clear of the rails.

    Upper left, upper right, lower left, lower right: the first that is clear, else the one
    that covers least.
    """
    (width, height), (wide, high) = size, canvas
    left, top = even(wide * SAFE + 1), even(high * SAFE + 1)
    corners = [
        Rectangle(x, y, width, height)
        for y in (top, even(high - top - height))
        for x in (left, even(wide - left - width))
    ]
    return min(corners, key=lambda corner: sum(corner.meet(rail).pixels for rail in rails))


def _inset_box(canvas: tuple[int, int], shape: PictureShape, rail: Rectangle) -> Rectangle:
    """A box of the picture's own shape in the upper right corner, or below if that is taken."""
    side = even(INSET * math.sqrt(canvas[0] * canvas[1]))
    inset = fitted(shape, Rectangle(0, 0, side, side))
    width, height = canvas
    right, top = even(width - width * SAFE), even(height * SAFE + 1)
    upper = Rectangle(right - inset.width, top, inset.width, inset.height)
    lower = upper._replace(y=even(height - top - inset.height))
    return min(upper, lower, key=lambda box: box.meet(rail).pixels)


def _place_scaled(shape: PictureShape, box: Rectangle) -> Placement:
    target = fitted(shape, box)
    return Placement((target.width, target.height), 0, 0, target)


def _place_exact(shape: PictureShape, box: Rectangle) -> Placement:
    """The middle of the picture at its own pixels."""
    size = even(shape.width), even(shape.height)
    target = _centred(min(size[0], even(box.width)), min(size[1], even(box.height)), box)
    return Placement(
        size, even((size[0] - target.width) / 2), even((size[1] - target.height) / 2), target
    )


def _centred(width: int, height: int, box: Rectangle) -> Rectangle:
    x, y = box.x + even((box.width - width) / 2), box.y + even((box.height - height) / 2)
    return Rectangle(x, y, width, height)


def _even_near(value: Fraction, most: int) -> int:
    """Nearest even number, at least 2 and not above the even part of `most`."""
    return min(max(even(value + 1), 2), even(most))


def _span(targets: Sequence[Rectangle]) -> tuple[int, int]:
    return min(each.x for each in targets), max(each.right for each in targets)
