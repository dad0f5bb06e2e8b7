"""A sheet of the pictures around each moment of a capture, for choosing where to start a clock."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacerail.draw.canvas import Box, Canvas, Drawing
from pacerail.draw.heading import LEAD, WORDS, Heading
from pacerail.draw.lettering import CAP_HEIGHT, fit_label, text_width
from pacerail.draw.pairs import WIDTH, opaque
from pacerail.draw.scale import even_up
from pacerail.draw.strip_lines import GAP, MARGIN, SMALL
from pacerail.draw.style import Style
from pacerail.patch import whole
from pacerail.timebase import format_clock

ACROSS = 2
"""Groups beside each other."""
AROUND = (-1, 0, 1)
"""Refreshes of the pictures of a group, counted from that of the moment."""
LEGEND = "The middle picture is the moment's own refresh; the others are its neighbours."
_BETWEEN = 2 * GAP
"""Pixels between the groups."""
_CLOSE = 4
"""Pixels between the pictures of a group."""


@dataclass(frozen=True, eq=False)
class Group:
    """What happens at one refresh, and the pictures around it."""

    time_s: float
    refresh: int
    kinds: tuple[str, ...]
    pictures: tuple[NDArray[np.uint8] | None, ...]
    """One for each of AROUND, R'G'B', shape (rows, columns, 3); None where there is none."""


def picture_width() -> int:
    """Columns of each picture."""
    group = (WIDTH - 2 * MARGIN - (ACROSS - 1) * _BETWEEN) // ACROSS
    return (group - (len(AROUND) - 1) * _CLOSE) // len(AROUND) // 2 * 2


def lay_contact_sheet(title: str, groups: Sequence[Group], style: Style) -> Drawing:
    """The sheet: a title, and every group with its time, refresh and kinds above it."""
    style = style.opaque
    width = picture_width()
    rows = max(
        (len(each) for group in groups for each in group.pictures if each is not None), default=0
    )
    group_width = len(AROUND) * width + (len(AROUND) - 1) * _CLOSE
    caption = even_up(LEAD * WORDS)
    step = caption + rows + GAP
    heading = Heading(title, (LEGEND,), WIDTH)
    height = even_up(heading.height + -(-len(groups) // ACROSS) * step + MARGIN - GAP)

    def paint(canvas: Canvas) -> None:
        colours = style.colours
        heading.draw(canvas, colours)
        for number, group in enumerate(groups):
            x = MARGIN + number % ACROSS * (group_width + _BETWEEN)
            y = heading.height + number // ACROSS * step
            _draw_caption(canvas, group, x, y + CAP_HEIGHT * WORDS, x + group_width, style)
            for place, picture in enumerate(group.pictures):
                left, top = x + place * (width + _CLOSE), y + caption
                if picture is None:
                    canvas.outline(Box(left, top, width, rows), 2, colours.rule)
                    continue
                image = opaque(picture)
                canvas.patch(whole(image, 0, 0), left, top)
                if AROUND[place] == 0:
                    shown_rows, shown_columns, _ = image.rgba.shape
                    canvas.outline(Box(left, top, shown_columns, shown_rows), 4, colours.needle)

    return Drawing(WIDTH, height, style.plate.colour, paint)


def _draw_caption(
    canvas: Canvas, group: Group, x: float, baseline: float, right: float, style: Style
) -> None:
    colours = style.colours
    clock = format_clock(group.time_s)
    canvas.text(clock, x, baseline, WORDS, colours.text, weight="SemiBold")
    number = f"refresh {group.refresh}"
    canvas.text(number, right, baseline, SMALL, colours.quiet, weight="Regular", align=1.0)
    start = x + text_width(clock, WORDS, "SemiBold") + WORDS
    room = right - text_width(number, SMALL, "Regular") - WORDS - start
    words = ", ".join(kind.replace("_", " ") for kind in group.kinds)
    canvas.label(fit_label(words, WORDS, "Medium", room), start, baseline, colours.text)
