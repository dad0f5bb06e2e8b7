"""What stands still over the moving strip: the needle and the labels of the rules."""

from __future__ import annotations

from collections.abc import Sequence

from pacerail.draw.canvas import Box, Canvas, Drawing
from pacerail.draw.colour import Colour
from pacerail.draw.lane import LaneLook
from pacerail.draw.layout import Layout
from pacerail.draw.lettering import CAP_HEIGHT, text_width
from pacerail.draw.scale import even
from pacerail.draw.side import Side
from pacerail.draw.style import Style
from pacerail.patch import Image

CLEAR = Colour(0, 0, 0, 0)


def draw_needle(layout: Layout, style: Style, unit: float) -> Image:
    """The mark of now: a bright line edged by the plate's colour, across the whole lane."""
    core = max(2, even(4 * unit))
    width = core + max(2, 2 * round(2 * unit))
    width += width % 4
    edge = (width - core) // 2
    along = layout.flow == "right"
    across = layout.lane.height if along else layout.lane.width

    def paint(canvas: Canvas) -> None:
        for offset, thickness, colour in (
            (0, width, style.plate.colour),
            (edge, core, style.colours.needle),
        ):
            bar = Box(offset, 0, thickness, across) if along else Box(0, offset, across, thickness)
            canvas.box(bar, colour)

    size = (width, across) if along else (across, width)
    return Drawing(*size, CLEAR, paint).image()


def draw_gutter(layout: Layout, style: Style, rates_hz: Sequence[float]) -> Image:
    """Labels of the rules, beside the lane's end or under its foot.

    rates_hz : what the top of each track's frame-rate lane stands for.
    """

    edge = 0.5 * layout.bands.padding

    def paint(canvas: Canvas) -> None:
        for side, hz in zip(layout.sides(0, 0), rates_hz, strict=True):
            draw_rule_labels(canvas, side, layout.bands.look, style, edge)
            if layout.bands.rate_height and side.flow == "right":
                _, y = side.point(0, layout.bands.rate_base + layout.bands.rate_height / 2)
                size = layout.bands.look.detail_size
                baseline = y + CAP_HEIGHT * size / 2
                canvas.text(f"{hz:.4g} fps", edge, baseline, size, style.colours.quiet)

    return Drawing(layout.gutter.width, layout.gutter.height, style.plate_colour, paint).image()


def draw_rule_labels(
    canvas: Canvas, side: Side, look: LaneLook, style: Style, edge: float, align: float = 0.0
) -> None:
    """Write the milliseconds of those rules whose labels do not touch.

    edge : where the labels begin: a column where time runs to the right, else a row.
    align : 0 starts labels at the column, 1 ends them there.
    """
    size, ink = look.detail_size, style.colours.quiet
    cap = CAP_HEIGHT * size
    top = max(look.rules, default=0)
    texts = {
        height: f"{rule:g} ms" if height == top else f"{rule:g}"
        for height, rule in look.rules.items()
    }
    along = side.flow == "right"
    room = 1.25 * cap if along else 1.2 * text_width(texts.get(top, ""), size, "Medium")
    for height in _apart(tuple(texts), room):
        x, y = side.point(side.start, height)
        if along:
            canvas.text(texts[height], edge, y + cap / 2, size, ink, align=align)
        else:
            canvas.text(texts[height], x, edge + cap, size, ink, align=0.5)


def _apart(heights: tuple[int, ...], room: float) -> list[int]:
    """Heights that keep `room` from each other and half of it from the axis.

    The highest is kept first, since its label carries the unit, then from the lowest up.
    """
    chosen: list[int] = []
    for height in (*heights[-1:], *heights[:-1]):
        if height >= room / 2 and all(abs(height - other) >= room for other in chosen):
            chosen.append(height)
    return chosen
