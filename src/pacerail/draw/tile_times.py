"""Frame times written into the tiles of late frames, whole or not at all.

A time stands in the middle of its tile, and where only parts of the tile are in view, in
the largest of them; half a number would be a wrong one. So times never lie under the needle
and never run out of the lane.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from pacerail.draw.cache import Recent
from pacerail.draw.canvas import Box, Canvas, Drawing
from pacerail.draw.colour import Colour
from pacerail.draw.lane import LaneInks, LaneLook
from pacerail.draw.layout import Layout
from pacerail.draw.lettering import CAP_HEIGHT, Weight, text_width
from pacerail.draw.scale import even, even_up
from pacerail.draw.side import Side
from pacerail.draw.style import Style
from pacerail.draw.tiles import Pace, Tiles
from pacerail.patch import Image, Patch, whole
from pacerail.series import SpanKind

LETTERS: Weight = "SemiBold"
CLEAR = Colour(0, 0, 0, 0)
KEPT = 64
"""Times that are kept drawn; more than ever stand in one lane, in both tones."""


@dataclass(frozen=True)
class TileTime:
    """A time in whole pixels of the image that the tiles are drawn on."""

    text: str
    pace: int
    view: int
    """Number of the view that it stands in."""
    box: Box
    """As high as the digits, and even."""


def tile_times(
    side: Side, tiles: Tiles, look: LaneLook, views: Sequence[range]
) -> Iterator[TileTime]:
    """The times of the tiles that are in view.

    views : strip pixels that are seen, increasing; what lies between them is covered.
    """
    size, margin = look.detail_size, look.tooth
    height = even_up(CAP_HEIGHT * size)
    touched = tiles.between(views[0].start, views[-1].stop)
    rows = slice(touched.start, touched.stop)
    may_have_room = (
        (tiles.pace[rows] != Pace.ON_PACE)
        & (tiles.kind[rows] == SpanKind.FRAME)
        & (tiles.height[rows] >= 2 * height)
        & (tiles.right[rows] - tiles.left[rows] >= 2 * height)
    )
    for index in (np.flatnonzero(may_have_room) + touched.start).tolist():
        left, right = int(tiles.left[index]), int(tiles.right[index]) - look.gap
        across = int(tiles.height[index])
        is_cut_off = across > look.height
        across = (look.height - look.tooth if is_cut_off else across) - look.gap
        parts = [range(max(left, view.start), min(right, view.stop)) for view in views]
        part = max(parts, key=len)
        tile = side.box(left, look.gap, right - left, across)
        seen = side.box(part.start, look.gap, len(part), across)
        text = _text(tiles.frame_time_ms[index], is_cut_off, tile.width - 2 * margin, size)
        width = even_up(text_width(text, size, LETTERS))
        if text and seen.width >= width + 2 * margin and seen.height >= 2 * height:
            x = _kept(tile.x, tile.right, seen.x + margin, seen.right - margin, width)
            y = _kept(tile.y, tile.bottom, seen.y + height // 2, seen.bottom - height // 2, height)
            box = Box(x, y, width, height)
            yield TileTime(text, int(tiles.pace[index]), parts.index(part), box)


def _text(frame_time_ms: float, is_cut_off: bool, room: float, size: float) -> str:
    """A time that fits; where the height of the tile does not tell it, if need be unitless."""
    number = f"{frame_time_ms:.0f}"
    texts = (f"{number} ms", number) if is_cut_off else (f"{number} ms",)
    return next((text for text in texts if text_width(text, size, LETTERS) <= room), "")


def _kept(start: int, end: int, least: int, most: int, length: int) -> int:
    """Where a length begins, on an even pixel, that lies in the middle of a tile from `start`
    to `end` as far as two bounds let it."""
    middle = (start + end - length) / 2
    return even(max(min(middle, most - length - 1), least))


def draw_times(canvas: Canvas, side: Side, tiles: Tiles, look: LaneLook, inks: LaneInks) -> None:
    """Write the times onto the stretch of a side."""
    for time in tile_times(side, tiles, look, [range(side.start, side.start + side.length)]):
        _write(canvas, time.text, time.box, look.detail_size, inks.times[time.pace])


class TimesInLane:
    """The times of one or two tracks in a layout, as patches over the moving strip.

    leads : for each track, the pixel of its own strip at which the strip as a whole is at 0.
    needle : pixels on each side of now that the needle covers.
    """

    def __init__(
        self,
        tiles: Sequence[Tiles],
        leads: Sequence[int],
        style: Style,
        layout: Layout,
        needle: int,
    ) -> None:
        self._tiles = tiles
        self._leads = leads
        self._layout = layout
        self._needle = needle
        self._tones = LaneInks.of(style), LaneInks.of(style, style.lane.ghost)
        self._images: Recent[Image] = Recent(KEPT)

    def patches(self, start: int) -> Iterator[Patch]:
        """Times in the lane that begins at a pixel of the strip; ghosted beyond the needle."""
        layout = self._layout
        look, lane = layout.bands.look, layout.lane
        for index, place in enumerate(layout.sides(start, layout.along)):
            side = replace(place, start=place.start + self._leads[index])
            now, end = side.start + layout.needle, side.start + layout.along
            views = range(side.start, now - self._needle), range(now + self._needle, end)
            for time in tile_times(side, self._tiles[index], look, views):
                ink = self._tones[time.view].times[time.pace]
                image = self._image(time.text, time.box, ink)
                yield whole(image, lane.x + time.box.x, lane.y + time.box.y)

    def _image(self, text: str, box: Box, ink: Colour) -> Image:
        size = self._layout.bands.look.detail_size
        drawing = Drawing(
            box.width,
            box.height,
            CLEAR,
            lambda canvas: _write(canvas, text, Box(0, 0, box.width, box.height), size, ink),
        )
        return self._images.get((text, ink), drawing.image)


def _write(canvas: Canvas, text: str, box: Box, size: float, ink: Colour) -> None:
    x, baseline = box.x + box.width / 2, box.y + (box.height + CAP_HEIGHT * size) / 2
    canvas.text(text, x, baseline, size, ink, weight=LETTERS, align=0.5)
