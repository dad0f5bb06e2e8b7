"""A map of the whole segment: its longest frames at a glance, and the window marked on it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from pacerail.draw.canvas import Box, Canvas, Drawing
from pacerail.draw.colour import Colour
from pacerail.draw.layout import Layout, Panel
from pacerail.draw.scale import Scale, even
from pacerail.draw.style import Style
from pacerail.draw.tiles import Tiles
from pacerail.patch import Image, Patch, whole

COLUMN = 2
"""Pixels along that share one bar, drawn for the longest frame in them."""
LEAST_MARK = 8


class Minimap:
    """The map of a segment, a range of refreshes, in the place that a layout gives it."""

    def __init__(
        self,
        place: Panel,
        tiles: Sequence[Tiles],
        leads: Sequence[int],
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
        self._map = self._draw_map(tiles, leads, style)
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

    def _draw_map(self, tiles: Sequence[Tiles], leads: Sequence[int], style: Style) -> Image:
        inner = self._inner
        room = inner.height // len(tiles)
        edges = np.linspace(self._first, self._end, inner.width // COLUMN + 1)
        inks = (style.colours.on_pace, style.colours.late, style.colours.far_late)

        def paint(canvas: Canvas) -> None:
            for number, track in enumerate(tiles):
                foot = inner.y + room * (number + 1)
                longest, pace = track.longest(edges + leads[number])
                share = np.minimum(longest / self._layout.bands.look.height, 1.0)
                heights = np.maximum(np.rint(share * room), self._layout.bands.look.line).astype(
                    int
                )
                for column, height in enumerate(heights):
                    x = inner.x + column * COLUMN
                    ink = style.colours.still if longest[column] < 0 else inks[pace[column]]
                    canvas.box(Box(x, foot - int(height), COLUMN, int(height)), ink)

        return Drawing(self._box.width, self._box.height, style.plate_colour, paint).image()

    def _draw_mark(self, style: Style) -> Image:
        def paint(canvas: Canvas) -> None:
            box = Box(0, 0, self._mark_length, self._mark_height)
            canvas.box(box, style.colours.needle.faded(0.16))
            canvas.outline(box, self._layout.bands.look.line, style.colours.needle)

        clear = Colour(0, 0, 0, 0)
        return Drawing(self._mark_length, self._mark_height, clear, paint).image()
