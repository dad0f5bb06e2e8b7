"""The moving strip: stretches of it drawn once and shown through a sliding window.

The strip is fixed in time. It is cut into stretches of equal length, each drawn when it
first comes into view, once as what has been and once ghosted as what is to come.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import replace

from pacerail.draw.cache import Recent
from pacerail.draw.canvas import Canvas, Drawing
from pacerail.draw.lane import LaneInks, draw_rate, draw_tiles
from pacerail.draw.layout import Layout
from pacerail.draw.scale import Scale
from pacerail.draw.style import Style
from pacerail.draw.tiles import Tiles
from pacerail.draw.track import Track
from pacerail.patch import Image, Patch

STRETCH = 512
"""Pixels drawn at once: seldom enough to be cheap, short enough for no picture to wait."""


class Stretches:
    """The strip of one or two tracks in a layout.

    leads : for each track, the pixel of its own strip at which the strip as a whole is at 0.
    """

    def __init__(
        self,
        tracks: Sequence[Track],
        tiles: Sequence[Tiles],
        leads: Sequence[int],
        style: Style,
        layout: Layout,
        scale: Scale,
    ) -> None:
        self._tracks = tracks
        self._style = style
        self._layout = layout
        self._scale = scale
        self._tiles = tiles
        self._leads = leads
        # The window touches this many stretches, the one at the needle in both tones.
        self._images: Recent[Image] = Recent(layout.along // STRETCH + 4)

    def start(self, refresh: int) -> int:
        """Strip pixel at which the lane begins with the start of that refresh at the needle."""
        return refresh * self._scale.pixels_per_refresh - self._layout.needle

    def window(self, refresh: int) -> list[Patch]:
        """The lane with the start of that refresh at the needle."""
        start = self.start(refresh)
        now = start + self._layout.needle
        past = self._cut(start, start, now, ghosted=False)
        return past + self._cut(start, now, start + self._layout.along, ghosted=True)

    def _cut(self, window: int, start: int, end: int, *, ghosted: bool) -> list[Patch]:
        """Strip pixels [start, end) where the lane begins at strip pixel `window`."""
        lane = self._layout.lane
        patches = []
        for number in range(start // STRETCH, -(-end // STRETCH)):
            first = max(start, number * STRETCH)
            length = min(end, (number + 1) * STRETCH) - first
            draw = functools.partial(self._draw, number, ghosted=ghosted)
            image = self._images.get((number, ghosted), draw)
            offset = first - number * STRETCH
            if self._layout.flow == "right":
                x = lane.x + first - window
                patches.append(Patch(image, x, lane.y, offset, 0, length, lane.height))
            else:
                y = lane.bottom - (first + length - window)
                below = STRETCH - offset - length
                patches.append(Patch(image, lane.x, y, 0, below, lane.width, length))
        return patches

    def _draw(self, number: int, *, ghosted: bool) -> Image:
        layout, style = self._layout, self._style
        strength = style.lane.ghost if ghosted else 1.0
        inks = LaneInks.of(style, strength)

        def paint(canvas: Canvas) -> None:
            for index, place in enumerate(layout.sides(number * STRETCH, STRETCH)):
                side = replace(place, start=place.start + self._leads[index])
                draw_tiles(canvas, side, self._tiles[index], layout.bands.look, inks)
                if layout.bands.rate_height:
                    ink = style.colours.on_pace.faded(0.6 * strength)
                    band = (layout.bands.rate_base, layout.bands.rate_height)
                    draw_rate(canvas, side, self._tracks[index], self._scale, band, ink)
            canvas.box(layout.axis_box(STRETCH), style.colours.rule.faded(0.7))

        if layout.flow == "right":
            return Drawing(STRETCH, layout.lane.height, style.plate_colour, paint).image()
        return Drawing(layout.lane.width, STRETCH, style.plate_colour, paint).image()
