"""Words and lines that belong to a picture: a platform's name, "ended", a border."""

from __future__ import annotations

from dataclasses import dataclass

from pacerail.draw.canvas import Canvas, Drawing
from pacerail.draw.lettering import CAP_HEIGHT, fit_label
from pacerail.draw.scale import design_unit, even, even_up
from pacerail.draw.style import Style
from pacerail.patch import Image, Patch

LINE = 4
"""Thickness of lines in pixels of the design. Chosen by eye."""


def draw_plaque(text: str, style: Style, width: int, height: int, room: int) -> Image:
    """A label on a plate of its own, at most `room` pixels wide, for a canvas of that size."""
    unit = design_unit(width, height)
    size = style.type.label * unit
    padding = even_up(0.8 * style.plate.padding * unit)
    label = fit_label(text, size, "Medium", room - 2 * padding)
    cap = CAP_HEIGHT * size

    def paint(canvas: Canvas) -> None:
        canvas.label(label, padding, padding + cap, style.colours.text)

    return Drawing(
        even_up(label.width) + 2 * padding,
        even_up(cap) + 2 * padding,
        style.plate_colour,
        paint,
    ).image()


class Lines:
    """Straight lines on a canvas of a given size: the ink of a style's needle, edged by its
    plate's colour, so that one of the two parts from any picture."""

    def __init__(self, style: Style, width: int, height: int) -> None:
        self._core = max(even(LINE * design_unit(width, height)), 2)
        self._edge = even_up(self._core / 2)
        size = even_up(width), even_up(height)
        self._ink, self._plate = (
            _Bars(
                Drawing(size[0], self._core, colour, _nothing).image(),
                Drawing(self._core, size[1], colour, _nothing).image(),
            )
            for colour in (style.colours.needle, style.plate.colour)
        )

    @property
    def thickness(self) -> int:
        """Of a line with both its edges."""
        return self._core + 2 * self._edge

    def upright(self, x: int, y: int, height: int) -> list[Patch]:
        """A line whose upper left corner is at (x, y)."""
        edge, core = self._edge, self._core
        return [
            self._plate.upright(x, y, height, edge),
            self._ink.upright(x + edge, y, height, core),
            self._plate.upright(x + edge + core, y, height, edge),
        ]

    def border(self, x: int, y: int, width: int, height: int) -> list[Patch]:
        """The inner border of a rectangle, the edges all around the line."""
        patches: list[Patch] = []
        for bars, thickness in (
            (self._plate, self._edge),
            (self._ink, self._core),
            (self._plate, self._edge),
        ):
            patches += [
                bars.level(x, y, width, thickness),
                bars.level(x, y + height - thickness, width, thickness),
                bars.upright(x, y, height, thickness),
                bars.upright(x + width - thickness, y, height, thickness),
            ]
            x, y = x + thickness, y + thickness
            width, height = width - 2 * thickness, height - 2 * thickness
        return patches


@dataclass(frozen=True)
class _Bars:
    """Bars of one colour, as long as a canvas is wide or high."""

    across: Image
    down: Image

    def level(self, x: int, y: int, width: int, thickness: int) -> Patch:
        return Patch(self.across, x, y, 0, 0, width, thickness)

    def upright(self, x: int, y: int, height: int, thickness: int) -> Patch:
        return Patch(self.down, x, y, 0, 0, thickness, height)


def _nothing(canvas: Canvas) -> None:
    """Paint no more than the ground."""
