"""The lane: tiles standing on an axis or hanging from it, with rules, in one stretch of time.

A stretch is drawn from strip coordinates alone, so neighbouring stretches join without a
seam and the same moment always looks the same.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from pacerail.draw.canvas import Box, Canvas
from pacerail.draw.colour import Colour, contrast
from pacerail.draw.lettering import CAP_HEIGHT, text_width
from pacerail.draw.scale import Scale
from pacerail.draw.style import Style
from pacerail.draw.tiles import Pace, Tiles
from pacerail.draw.track import Track
from pacerail.series import SpanKind


@dataclass(frozen=True)
class LaneLook:
    """Sizes of a lane in whole pixels of the canvas."""

    height: int
    gap: int
    """Room between tiles, and between the tiles and the axis."""
    line: int
    """Thickness of rules and axis."""
    detail_size: float
    """Size of letters in tiles, pixels."""
    rules: dict[int, float]
    """Height in pixels of each rule in ms."""

    @property
    def tooth(self) -> int:
        """Height of the teeth of a tile that outgrows the lane."""
        return max(3 * self.gap, 3)


@dataclass(frozen=True)
class Side:
    """Places the strip coordinates of one platform on an image.

    along : pixels from refresh 0. across : pixels outward from the axis.
    """

    flow: Literal["right", "up"]
    outward: Literal[1, -1]
    """1 where tiles stand up (or reach right), -1 where they hang (or reach left)."""
    start: int
    """Strip pixel at the beginning of the image."""
    length: int
    """Pixels of the image along."""
    axis: int
    """Pixel of the image at which `across` is 0."""
    origin: int = 0
    """Column of the image at which the stretch starts, where time runs to the right."""

    def point(self, along: float, across: float) -> tuple[float, float]:
        """Image coordinates of a point."""
        offset = self.outward * across
        if self.flow == "right":
            return self.origin + along - self.start, self.axis - offset
        return self.axis + offset, self.length - (along - self.start)

    def box(self, along: int, across: int, length: int, height: int) -> Box:
        """Image box of a rectangle that starts at (along, across)."""
        x0, y0 = self.point(along, across)
        x1, y1 = self.point(along + length, across + height)
        left, top = int(min(x0, x1)), int(min(y0, y1))
        return Box(left, top, int(abs(x1 - x0)), int(abs(y1 - y0)))


def draw_tiles(
    canvas: Canvas, side: Side, tiles: Tiles, look: LaneLook, style: Style, strength: float = 1.0
) -> None:
    """Draw the rules and all tiles that touch the stretch; strength below 1 ghosts tiles."""
    for height in look.rules:
        rule = side.box(side.start, height, side.length, look.line)
        canvas.box(rule, style.colours.rule.faded(0.22))
    for index in tiles.between(side.start, side.start + side.length):
        _draw_tile(canvas, side, tiles, index, look, style, strength)


def _draw_tile(
    canvas: Canvas,
    side: Side,
    tiles: Tiles,
    index: int,
    look: LaneLook,
    style: Style,
    strength: float,
) -> None:
    left = int(tiles.left[index])
    length = max(int(tiles.right[index]) - left - look.gap, 1)
    colours = style.colours
    kind = tiles.kind[index]
    low = tiles.target_height
    if kind == SpanKind.STILL:
        bar = (left, look.gap, length, max(low - look.gap, 2))
        _hatch(canvas, side, bar, 4 * look.gap, colours.still.faded(strength))
    elif kind == SpanKind.FAULT:
        box = side.box(left, look.gap, length, max(2 * low - look.gap, 3))
        canvas.outline(box, look.line, colours.fault.faded(strength))
    elif kind == SpanKind.OPEN:
        box = side.box(left, look.gap, length, max(low - look.gap, 2))
        canvas.outline(box, look.line, colours.still.faded(0.5 * strength))
    else:
        fill = (colours.on_pace, colours.late, colours.far_late)[tiles.pace[index]]
        height = min(int(tiles.height[index]), look.height)
        body = (left, look.gap, length, max(height - look.gap, 1))
        ink = fill.faded(strength)
        canvas.wipe(side.box(*body), style.plate_colour)
        if tiles.height[index] > look.height:
            _cut_top(canvas, side, body, look, ink)
            body = (*body[:3], body[3] - look.tooth)
        else:
            _slit_box(canvas, side, body, float(tiles.slit[index]), look, ink)
        if style.lane.stall_times and tiles.pace[index] != Pace.ON_PACE:
            ground = ink.over(style.plate.colour)
            _write_time(canvas, side, body, float(tiles.frame_time_ms[index]), look, style, ground)


def _slit_box(
    canvas: Canvas,
    side: Side,
    body: tuple[int, int, int, int],
    slit: float,
    look: LaneLook,
    ink: Colour,
) -> None:
    """Fill a tile; a torn one is left open where the screen was cut."""
    along, across, length, height = body
    opening = min(look.gap, height - 2)
    if math.isnan(slit) or opening < 1:
        canvas.box(side.box(along, across, length, height), ink)
        return
    foot = round((1 - slit) * height - opening / 2)
    foot = min(max(foot, 1), height - opening - 1)
    canvas.box(side.box(along, across, length, foot), ink)
    upper = foot + opening
    canvas.box(side.box(along, across + upper, length, height - upper), ink)


def _cut_top(
    canvas: Canvas, side: Side, body: tuple[int, int, int, int], look: LaneLook, ink: Colour
) -> None:
    """Fill a tile that outgrows the lane: its top ends in a zigzag, as if broken off."""
    along, across, length, height = body
    tooth, top = look.tooth, across + height
    points = [(0, across)]
    points += [(x, top - (x // tooth % 2) * tooth) for x in range(0, length, tooth)]
    points += [(length, top - tooth), (length, across)]
    canvas.polygon([side.point(along + x, y) for x, y in points], ink)


def _hatch(
    canvas: Canvas, side: Side, bar: tuple[int, int, int, int], pitch: int, ink: Colour
) -> None:
    """Diagonal stripes over a bar, in step with strip coordinates."""
    along, across, length, height = bar
    visible_from = max(along, side.start - height)
    visible_to = min(along + length, side.start + side.length + height)
    with canvas.clipped(side.box(along, across, length, height)):
        first = (visible_from - height) // pitch * pitch
        for x in range(first, visible_to + 1, pitch):
            stripe = ((x, 0), (x + pitch // 2, 0), (x + pitch // 2 + height, height))
            corners = (*stripe, (x + height, height))
            canvas.polygon([side.point(a, across + h) for a, h in corners], ink)


def _write_time(
    canvas: Canvas,
    side: Side,
    body: tuple[int, int, int, int],
    frame_time_ms: float,
    look: LaneLook,
    style: Style,
    ground: Colour,
) -> None:
    """Write a frame time into its tile where there is room for it."""
    box = side.box(*body)
    text = f"{frame_time_ms:.0f} ms"
    cap = CAP_HEIGHT * look.detail_size
    if text_width(text, look.detail_size, "SemiBold") > box.width - 2 * look.tooth:
        return
    if box.height < 2 * cap:
        return
    inks = (style.plate.colour, style.colours.text)
    ink = max(inks, key=lambda colour: contrast(colour, ground))
    canvas.text(
        text,
        box.x + box.width / 2,
        box.y + (box.height + cap) / 2,
        look.detail_size,
        ink,
        weight="SemiBold",
        align=0.5,
    )


def draw_rate(
    canvas: Canvas, side: Side, track: Track, scale: Scale, band: tuple[int, int], ink: Colour
) -> None:
    """Fill the rolling frame rate as a level between 0 and the display's own rate.

    band : pixels from the axis to the foot of the lane, and its height.
    """
    base, height = band
    full_fps = float(track.series.refresh_hz)
    step = scale.pixels_per_refresh
    own_per_step = track.series.refresh_hz / scale.refresh_hz
    for refresh in range(max(side.start // step, 0), -(-(side.start + side.length) // step)):
        own = int(refresh * own_per_step)
        if own >= track.series.refreshes:
            break
        rate = track.frame_rate_fps[own]
        level = 0 if math.isnan(rate) else min(round(rate / full_fps * height), height)
        if level:
            canvas.box(side.box(refresh * step, base, step, level), ink)
