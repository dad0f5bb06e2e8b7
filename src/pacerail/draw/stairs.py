"""A marked edge, enlarged sample by sample, with its steps ticked."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pacerail.draw.canvas import Box, Canvas, Drawing
from pacerail.draw.heading import Heading
from pacerail.draw.lettering import CAP_HEIGHT, text_width
from pacerail.draw.scale import even_up
from pacerail.draw.strip_lines import MARGIN, SMALL
from pacerail.draw.style import Style
from pacerail.patch import Image, whole

WIDTH = 1920
MOST_HEIGHT = 1400
"""Room for the enlarged crop, pixels."""
MOST_ZOOM = 24
TICK_LENGTH, TICK_WIDTH = 26, 4
CLEARANCE = 10
"""From the edge to its tick."""
NUMBER_EVERY = (1, 5, 10, 20, 50)


def lay_stairs(
    label: str,
    caption: Sequence[str],
    crop: NDArray[np.uint8],
    origin: tuple[int, int],
    jumps: Sequence[tuple[float, float]],
    style: Style,
    *,
    are_rows: bool,
) -> Drawing:
    """The sheet: what was counted in words, and the crop with a tick at every step.

    crop : luma of 8 bits, shape (rows, columns). origin : (x, y) of its first sample.
    jumps : (x, y) of the steps in samples of the picture, along the edge.
    are_rows : whether steps are rows of a flat edge, or columns of a steep one.
    """
    style = style.opaque
    room = WIDTH - 2 * MARGIN
    rows, columns = crop.shape
    zoom = max(min(room // columns, MOST_HEIGHT // rows, MOST_ZOOM), 1)
    # Numbers of a steep edge stand beside it, those of a flat one over it.
    heading = Heading(label, caption, WIDTH)
    head = heading.height
    left = MARGIN + (room - zoom * columns) // 2 if not are_rows else MARGIN
    height = even_up(head + zoom * rows + MARGIN)
    picture = _enlarged(crop, zoom)

    def paint(canvas: Canvas) -> None:
        heading.draw(canvas, style.colours)
        canvas.patch(whole(picture, 0, 0), left, head)
        places = [
            (left + round((x + 0.5 - origin[0]) * zoom), head + round((y - origin[1]) * zoom))
            for x, y in jumps
        ]
        every = _number_every(places, are_rows=are_rows)
        for number, (x, y) in enumerate(places):
            _draw_tick(canvas, x, y, number, every, style, are_rows=are_rows)

    return Drawing(WIDTH, height, style.plate.colour, paint)


def _draw_tick(
    canvas: Canvas, x: int, y: int, number: int, every: int, style: Style, *, are_rows: bool
) -> None:
    """A tick beside a step, edged so that it shows on any picture, and perhaps its number."""
    half = TICK_WIDTH // 2
    if are_rows:
        tick = Box(x - half, y - CLEARANCE - TICK_LENGTH, TICK_WIDTH, TICK_LENGTH)
    else:
        tick = Box(x + CLEARANCE, y - half, TICK_LENGTH, TICK_WIDTH)
    canvas.box(Box(tick.x - 2, tick.y - 2, tick.width + 4, tick.height + 4), style.plate.colour)
    canvas.box(tick, style.colours.late)
    if number % every:
        return
    text = f"{number}"
    width, cap = text_width(text, SMALL, "Medium"), CAP_HEIGHT * SMALL
    if are_rows:
        middle, baseline = x, tick.y - CLEARANCE
    else:
        middle, baseline = round(tick.right + CLEARANCE + width / 2), round(y + cap / 2)
    plate = Box(
        round(middle - width / 2) - 6, round(baseline - cap) - 6, round(width) + 12, round(cap) + 12
    )
    canvas.box(plate, style.plate.colour)
    canvas.text(text, middle, baseline, SMALL, style.colours.text, align=0.5)


def _number_every(places: Sequence[tuple[int, int]], *, are_rows: bool) -> int:
    """The least spacing of numbers at which their plates do not touch."""
    axis = 0 if are_rows else 1
    apart = abs(places[-1][axis] - places[0][axis]) / max(len(places) - 1, 1)
    room = text_width("000", SMALL, "Medium") + 16 if are_rows else 2 * SMALL
    for every in NUMBER_EVERY:
        if every * apart >= room:
            break
    return every


def _enlarged(crop: NDArray[np.uint8], zoom: int) -> Image:
    """Every sample as a square of whole pixels, cut to even size."""
    large = crop.repeat(zoom, axis=0).repeat(zoom, axis=1)
    rows, columns = (length // 2 * 2 for length in large.shape)
    rgba = np.full((rows, columns, 4), 255, np.uint8)
    rgba[..., :3] = large[:rows, :columns, None]
    return Image(rgba)
