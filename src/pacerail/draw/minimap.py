"""A map of the whole segment: its longest frames at a glance, and the window marked on it."""

from __future__ import annotations

from collections.abc import Sequence

from pacerail.draw.canvas import Box, Canvas, draw_image
from pacerail.draw.colour import Colour
from pacerail.draw.layout import Layout, Panel
from pacerail.draw.scale import Scale, even
from pacerail.draw.style import Style
from pacerail.draw.tiles import Pace, Tiles
from pacerail.patch import Image, Patch, whole
from pacerail.series import SpanKind

COLUMN = 2
"""Pixels along that share one bar, drawn for the longest frame in them."""
LEAST_MARK = 8


class Minimap:
    """The map of a segment, a range of refreshes, in the place that a layout gives it."""

    def __init__(
        self,
        place: Panel,
        tiles: Sequence[Tiles],
        style: Style,
        layout: Layout,
        scale: Scale,
        segment: range,
    ) -> None:
        self._box, self._inner = place.box, place.content
        self._first = segment.start * scale.pixels_per_refresh
        self._end = max(segment.stop * scale.pixels_per_refresh, self._first + 1)
        self._layout = layout
        self._scale = scale
        self._map = self._draw_map(tiles, style)
        length = even((layout.along / (self._end - self._first)) * self._inner.width)
        self._mark_length = min(max(length, LEAST_MARK), self._inner.width)
        self._mark_height = 2 * self._inner.y + self._inner.height
        self._mark = self._draw_mark(style)

    def patches(self, refresh: int) -> list[Patch]:
        """The map, and over it the mark of the window at that refresh."""
        start = refresh * self._scale.pixels_per_refresh - self._layout.needle - self._first
        share = start / (self._end - self._first)
        last = self._inner.width - self._mark_length
        offset = min(max(even(share * self._inner.width), 0), last)
        return [
            whole(self._map, self._box.x, self._box.y),
            whole(self._mark, self._box.x + self._inner.x + offset, self._box.y),
        ]

    def _draw_map(self, tiles: Sequence[Tiles], style: Style) -> Image:
        inner = self._inner

        def paint(canvas: Canvas) -> None:
            share = inner.height // len(tiles)
            for number, track in enumerate(tiles):
                foot = inner.y + share * (number + 1)
                for column in range(inner.width // COLUMN):
                    height, colour = self._bar(track, column, share, style)
                    x = inner.x + column * COLUMN
                    canvas.box(Box(x, foot - height, COLUMN, height), colour)

        return draw_image(self._box.width, self._box.height, style.plate_colour, paint)

    def _bar(self, tiles: Tiles, column: int, room: int, style: Style) -> tuple[int, Colour]:
        """Height and colour for the longest frame that touches a column."""
        span = self._end - self._first
        columns = self._inner.width // COLUMN
        start = self._first + column * span // columns
        end = self._first + max((column + 1) * span // columns, column * span // columns + 1)
        touched = tiles.between(start, end)
        part = slice(touched.start, touched.stop)
        is_frame = tiles.kind[part] == SpanKind.FRAME
        if not is_frame.any():
            return 2, style.colours.still.faded(0.6)
        longest = int(tiles.height[part][is_frame].max())
        pace = int(tiles.pace[part][is_frame].max(initial=Pace.ON_PACE))
        inks = (style.colours.on_pace, style.colours.late, style.colours.far_late)
        height = round(min(longest / self._layout.look.height, 1.0) * room)
        return max(height, 2), inks[pace]

    def _draw_mark(self, style: Style) -> Image:
        def paint(canvas: Canvas) -> None:
            box = Box(0, 0, self._mark_length, self._mark_height)
            canvas.box(box, style.colours.needle.faded(0.16))
            canvas.outline(box, 2, style.colours.needle)

        clear = Colour(0, 0, 0, 0)
        return draw_image(self._mark_length, self._mark_height, clear, paint)
