"""Pictures at their own pixels on one page: names above them, locators around regions.

Letters are drawn once on the page; pictures are then laid in sample for sample, so nothing
that is drawn can touch them. Only locator frames lie on a picture, outside what they mark.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacerail.draw.canvas import Canvas, Drawing
from pacerail.draw.colour import Colour
from pacerail.draw.lettering import CAP_HEIGHT, fit_label
from pacerail.draw.scale import design_unit, even_up
from pacerail.draw.style import Style

Rgb = NDArray[np.uint8] | NDArray[np.uint16]
PixelBox = tuple[int, int, int, int]
"""x, y, width, height in whole pixels."""

LETTERS, LEAST_LETTERS = 34, 15
"""Size of letters for a picture whose shorter side is 1080, and the least. Chosen by eye."""
# Differences by share of the scale: night, water, lamp, white; lightness rises throughout.
RAMP = ((12, 14, 22), (0, 114, 178), (230, 159, 0), (255, 255, 255))


@dataclass(frozen=True, eq=False)
class Pane:
    """A picture with its name above it."""

    picture: Rgb
    """Shape (rows, columns, 3)."""
    label: str
    locators: tuple[PixelBox, ...] = ()
    """Parts to frame."""
    ticks: tuple[str, ...] = ()
    """Written below it, from its left end to its right."""


def lay_page(rows: Sequence[Sequence[Pane]], style: Style) -> Rgb:
    """Rows of panes as one picture, of 16 bits where any pane is."""
    panes = [pane for row in rows for pane in row]
    first = panes[0].picture
    size = max(LETTERS * design_unit(first.shape[1], first.shape[0]), LEAST_LETTERS)
    gap = even_up(size)
    head = even_up(CAP_HEIGHT * size + gap)
    foot = even_up(1.5 * size)
    places: list[tuple[Pane, int, int, int]] = []
    columns = [
        max(row[number].picture.shape[1] for row in rows if number < len(row))
        for number in range(max(len(row) for row in rows))
    ]
    y = gap
    for row in rows:
        for number, pane in enumerate(row):
            left = gap + sum(column + gap for column in columns[:number])
            places.append((pane, left, y + head, columns[number]))
        has_ticks = any(pane.ticks for pane in row)
        y += head + max(len(pane.picture) for pane in row) + gap + foot * has_ticks

    def paint(canvas: Canvas) -> None:
        ink = style.colours
        for pane, left, top, room in places:
            label = fit_label(pane.label, size, "Medium", room)
            canvas.label(label, left, top - gap / 2, ink.text)
            baseline = top + len(pane.picture) + CAP_HEIGHT * size + gap / 3
            for number, tick in enumerate(pane.ticks):
                share = number / max(len(pane.ticks) - 1, 1)
                x = left + share * pane.picture.shape[1]
                canvas.text(tick, x, baseline, 0.8 * size, ink.quiet, align=share)

    is_deep = any(pane.picture.dtype == np.uint16 for pane in panes)
    width = even_up(gap + sum(column + gap for column in columns))
    ground = Drawing(width, even_up(y), style.plate.colour, paint).image().rgba
    page = _deepened(np.array(ground[..., :3]), is_deep)
    thickness = max(round(size / 9), 2)
    for pane, x, y, _ in places:
        picture = _deepened(pane.picture, is_deep)
        target = page[y : y + picture.shape[0], x : x + picture.shape[1]]
        target[...] = picture
        for box in pane.locators:
            _frame(target, box, thickness + 1, Colour(0, 0, 0), is_deep, outset=thickness)
            _frame(target, box, thickness, style.colours.needle, is_deep, outset=0)
    return page


def difference_map(first: Rgb, second: Rgb) -> tuple[NDArray[np.uint8], float]:
    """Where two pictures differ: colours, and the difference that stands for white.

    The difference is the largest of |R'|, |G'|, |B'| differences in the non-linear signal,
    counted in 8-bit code values. The scale ends at the largest, but not below 8 codes, so
    that coding noise stays dark.
    """
    codes = [
        picture.astype(np.float32) / (1 if picture.dtype == np.uint8 else 257)
        for picture in (first, second)
    ]
    largest = np.abs(codes[0] - codes[1]).max(axis=2)
    end = max(float(np.ceil(largest.max())), 8.0)
    return ramp(largest / end), end


def ramp(shares: NDArray[np.float32]) -> NDArray[np.uint8]:
    """Colours of the difference scale at shares of it, 0 to 1: shape (..., 3)."""
    stops = np.linspace(0, 1, len(RAMP))
    channels = [np.interp(shares, stops, [stop[c] for stop in RAMP]) for c in range(3)]
    return np.stack(channels, axis=-1).round().astype(np.uint8)


def legend(end: float, width: int, style_rows: int) -> Pane:
    """The scale of a difference map as a pane of that width."""
    bar = ramp(np.tile(np.linspace(0, 1, width, dtype=np.float32), (style_rows, 1)))
    return Pane(
        bar,
        "Largest difference of R′, G′, B′ (non-linear signal), in 8-bit code values",
        ticks=("0", f"{end / 2:g}", f"{end:g}"),
    )


def _deepened(picture: Rgb, is_deep: bool) -> Rgb:
    return picture.astype(np.uint16) * 257 if is_deep and picture.dtype == np.uint8 else picture


def _frame(
    target: Rgb, box: PixelBox, thickness: int, colour: Colour, is_deep: bool, *, outset: int
) -> None:
    """A border around a box, `outset` pixels off it, cut where the picture ends."""
    x, y, width, height = box
    ink = np.array([colour.red, colour.green, colour.blue])
    code = (ink.round() * (257 if is_deep else 1)).astype(target.dtype)
    far = outset + thickness
    rows, columns = target.shape[:2]
    up, left = max(y - far, 0), max(x - far, 0)
    down, right = min(y + height + far, rows), min(x + width + far, columns)
    target[up : max(y - outset, 0), left:right] = code
    target[min(y + height + outset, rows) : down, left:right] = code
    target[up:down, left : max(x - outset, 0)] = code
    target[up:down, min(x + width + outset, columns) : right] = code
