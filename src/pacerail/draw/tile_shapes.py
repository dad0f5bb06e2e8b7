"""The shapes that tiles are filled with: slit, cut off, hatched."""

from __future__ import annotations

from pacerail.draw.canvas import Canvas
from pacerail.draw.colour import Colour
from pacerail.draw.side import Shape, Side


def fill_slit(
    canvas: Canvas, side: Side, shape: Shape, slit: float, opening: int, ink: Colour
) -> None:
    """Fill a tile but for an opening of some pixels where the screen was cut.

    slit : place of the cut, 0 at the top of the screen to 1 at its foot. Both parts keep at
    least a pixel; a tile too low for that stays whole.
    """
    along, across, length, height = shape
    opening = min(opening, height - 2)
    if opening < 1:
        canvas.box(side.box(*shape), ink)
        return
    foot = round((1 - slit) * height - opening / 2)
    foot = min(max(foot, 1), height - opening - 1)
    upper = foot + opening
    canvas.box(side.box(along, across, length, foot), ink)
    canvas.box(side.box(along, across + upper, length, height - upper), ink)


def fill_cut_off(canvas: Canvas, side: Side, shape: Shape, tooth: int, ink: Colour) -> None:
    """Fill a tile that outgrows the lane: its top ends in a zigzag, as if broken off."""
    along, across, length, height = shape
    top = across + height
    points = [(0, across)]
    points += [(x, top - (x // tooth % 2) * tooth) for x in range(0, length, tooth)]
    points += [(length, top - tooth), (length, across)]
    canvas.polygon([side.point(along + x, y) for x, y in points], ink)


def hatch(canvas: Canvas, side: Side, shape: Shape, pitch: int, ink: Colour) -> None:
    """Diagonal stripes over a bar, in step with strip coordinates, within the stretch."""
    along, across, length, height = shape
    visible_from = max(along, side.start - height)
    visible_to = min(along + length, side.start + side.length + height)
    with canvas.clipped(side.box(*shape)):
        for x in range((visible_from - height) // pitch * pitch, visible_to + 1, pitch):
            foot = (x, 0), (x + pitch // 2, 0)
            top = (x + pitch // 2 + height, height), (x + height, height)
            canvas.polygon([side.point(a, across + h) for a, h in (*foot, *top)], ink)
