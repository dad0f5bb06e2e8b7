"""A sheet of pictures in pairs, one above the other: what two captures show at one moment."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacerail.draw.canvas import Box, Canvas, Drawing
from pacerail.draw.heading import LEAD, Heading
from pacerail.draw.lettering import CAP_HEIGHT
from pacerail.draw.scale import even_up
from pacerail.draw.strip_lines import GAP, MARGIN, SMALL
from pacerail.draw.style import Style
from pacerail.patch import Image, whole
from pacerail.timebase import format_clock

WIDTH = 1920


@dataclass(frozen=True, eq=False)
class Pair:
    """Pictures of two captures and the moment of each, seconds from its first picture."""

    first_s: float
    first: NDArray[np.uint8]
    """uint8 R'G'B', shape (rows, columns, 3)."""
    second_s: float
    second: NDArray[np.uint8]


def column_width(pairs: int) -> int:
    """Room for each picture of so many pairs side by side, pixels."""
    return (WIDTH - 2 * MARGIN - (pairs - 1) * GAP) // pairs


def lay_pairs(
    labels: tuple[str, str], pairs: Sequence[Pair], caption: Sequence[str], style: Style
) -> Drawing:
    """The sheet: labels of both captures, sentences, and each pair in a column of its own.

    Pictures must not be wider than `column_width`.
    """
    style = style.opaque
    heading = Heading(f"{labels[0]} above, {labels[1]} below", caption, WIDTH)
    first_rows = max(len(pair.first) for pair in pairs)
    second_rows = max(len(pair.second) for pair in pairs)
    line = even_up(LEAD * SMALL + GAP / 2)
    second_top = heading.height + first_rows + line + GAP
    height = even_up(second_top + second_rows + line + MARGIN)

    def paint(canvas: Canvas) -> None:
        colours = style.colours
        heading.draw(canvas, colours)
        for number, pair in enumerate(pairs):
            x = MARGIN + number * (column_width(len(pairs)) + GAP)
            for picture, moment_s, top, rows in (
                (pair.first, pair.first_s, heading.height, first_rows),
                (pair.second, pair.second_s, second_top, second_rows),
            ):
                image = opaque(picture)
                canvas.patch(whole(image, 0, 0), x, top)
                shown_rows, shown_columns, _ = picture.shape
                canvas.outline(Box(x, top, shown_columns, shown_rows), 2, colours.rule)
                y = top + rows + CAP_HEIGHT * SMALL + (line - SMALL) / 2
                canvas.text(format_clock(moment_s), x, y, SMALL, colours.text)

    return Drawing(WIDTH, height, style.plate.colour, paint)


def opaque(picture: NDArray[np.uint8]) -> Image:
    """The picture as an image, cut to even size."""
    rows, columns = (length // 2 * 2 for length in picture.shape[:2])
    rgba = np.full((rows, columns, 4), 255, np.uint8)
    rgba[..., :3] = picture[:rows, :columns]
    return Image(rgba)
