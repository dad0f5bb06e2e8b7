"""Rectangles of a canvas in whole pixels, and how the shape of a picture fits into them.

Whatever is placed is even, so that no chroma sample is shared with a neighbour.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

DESIGN_SIDE = 1080
"""Lengths of the design are for a canvas whose shorter side has this many pixels. Chosen by eye."""
SAFE = 0.05
"""EBU R 95: graphics, and pictures that act as such, keep this share clear at every edge."""


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
class PictureShape:
    """Size of a picture as it is seen, and how wide its pixels are."""

    width: int
    height: int
    pixel_aspect: Fraction = Fraction(1)

    @property
    def aspect(self) -> Fraction:
        """Width over height on a screen."""
        return Fraction(self.width, self.height) * self.pixel_aspect


def square_canvas(stored: tuple[int, int], pixel_aspect: Fraction | None) -> tuple[int, int]:
    """Even width and height in square pixels of a picture, at least as large as it is stored."""
    width, height = stored
    aspect = pixel_aspect or Fraction(1)
    if aspect >= 1:
        return even(width * aspect + 1), height
    return width, even(height / aspect + 1)


def even(value: float | Fraction) -> int:
    """Greatest even whole number that is not greater."""
    return 2 * math.floor(value / 2)


def scaled(length: float, canvas: tuple[int, int]) -> int:
    """Even pixels of a length of the design on a canvas, at least 2."""
    return max(even(length * min(canvas) / DESIGN_SIDE + 1), 2)


def fitted(shape: PictureShape, box: Rectangle) -> Rectangle:
    """The largest even rectangle of a picture's shape in the middle of a box.

    A picture that is within a pixel of filling the box fills it.
    """
    if min(box.width, box.height) < 2:
        return Rectangle(box.x, box.y, 0, 0)
    width = min(Fraction(box.width), box.height * shape.aspect)
    return centred(_even_near(width, box.width), _even_near(width / shape.aspect, box.height), box)


def fits(size: tuple[int, int], box: Rectangle) -> bool:
    """True when a box has room for a width and height."""
    return size[0] <= box.width and size[1] <= box.height


def safe_area(canvas: tuple[int, int]) -> Rectangle:
    """The graphics-safe part of a canvas, on even pixels."""
    width, height = canvas
    x, y = even(width * SAFE + 1), even(height * SAFE + 1)
    return Rectangle(x, y, width - 2 * x, height - 2 * y)


def centred(width: int, height: int, box: Rectangle) -> Rectangle:
    """A rectangle of an even size in the middle of a box."""
    x, y = box.x + even((box.width - width) / 2), box.y + even((box.height - height) / 2)
    return Rectangle(x, y, width, height)


def clamped(rectangle: Rectangle, box: Rectangle) -> Rectangle:
    """A rectangle moved into a box, to its upper left corner if it is larger."""
    x = max(min(rectangle.x, box.right - rectangle.width), box.x)
    y = max(min(rectangle.y, box.bottom - rectangle.height), box.y)
    return rectangle._replace(x=x, y=y)


def around(rectangles: Sequence[Rectangle]) -> Rectangle:
    """The smallest rectangle that holds all of them."""
    x, y = min(each.x for each in rectangles), min(each.y for each in rectangles)
    right = max(each.right for each in rectangles)
    return Rectangle(x, y, right - x, max(each.bottom for each in rectangles) - y)


def _even_near(value: Fraction, most: int) -> int:
    """Nearest even number, at least 2 and not above the even part of `most`."""
    return min(max(even(value + 1), 2), even(most))
