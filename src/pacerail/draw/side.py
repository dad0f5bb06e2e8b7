"""Where strip coordinates fall on an image: upward or downward, rightward or upward in time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

from pacerail.draw.canvas import Box


class Shape(NamedTuple):
    """A rectangle in strip coordinates, in whole pixels."""

    along: int
    across: int
    length: int
    height: int


@dataclass(frozen=True)
class Side:
    """Places the strip coordinates of one platform on an image.

    along : pixels from refresh 0. across : pixels outward from the axis.
    """

    flow: Literal["right", "up"]
    outward: Literal[1, -1]
    """1 where tiles stand up (or reach right), -1 where they hang (or reach left)."""
    start: int
    """Strip pixel at the beginning of the image."""
    length: int
    """Pixels of the image along."""
    axis: int
    """Pixel of the image at which `across` is 0."""
    origin: int = 0
    """Column of the image at which the stretch starts, where time runs to the right."""

    def point(self, along: float, across: float) -> tuple[float, float]:
        """Image coordinates of a point."""
        offset = self.outward * across
        if self.flow == "right":
            return self.origin + along - self.start, self.axis - offset
        return self.axis + offset, self.length - (along - self.start)

    def box(self, along: int, across: int, length: int, height: int) -> Box:
        """Image box of a rectangle that starts at (along, across)."""
        x0, y0 = self.point(along, across)
        x1, y1 = self.point(along + length, across + height)
        left, top = int(min(x0, x1)), int(min(y0, y1))
        return Box(left, top, int(abs(x1 - x0)), int(abs(y1 - y0)))
