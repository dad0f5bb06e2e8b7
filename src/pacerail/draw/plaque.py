"""Words and lines that belong to a picture: a platform's name, "ended", a border."""

from __future__ import annotations

import numpy as np

from pacerail.draw.canvas import Box, Canvas, Drawing
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
        core = max(even(LINE * design_unit(width, height)), 2)
        edge = even_up(core / 2)
        self.thickness = core + 2 * edge

        length = even_up(max(width, height))

        def paint(canvas: Canvas) -> None:
            canvas.box(Box(0, edge, length, core), style.colours.needle)

        across = Drawing(length, self.thickness, style.plate.colour, paint).image()
        self._across = across
        self._down = Image(np.ascontiguousarray(across.rgba.transpose(1, 0, 2)))

    def upright(self, x: int, y: int, height: int) -> Patch:
        """A line whose upper left corner is at (x, y)."""
        return Patch(self._down, x, y, 0, 0, self.thickness, height)

    def border(self, x: int, y: int, width: int, height: int) -> list[Patch]:
        """The inner border of a rectangle."""
        return [
            Patch(self._across, x, y, 0, 0, width, self.thickness),
            Patch(self._across, x, y + height - self.thickness, 0, 0, width, self.thickness),
            self.upright(x, y, height),
            self.upright(x + width - self.thickness, y, height),
        ]
