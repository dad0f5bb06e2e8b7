"""The lane: tiles standing on an axis or hanging from it, with rules, in one stretch of time.

A stretch is drawn from strip coordinates alone, so neighbouring stretches join without a
seam and the same moment always looks the same.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

from pacerail.draw.canvas import Canvas
from pacerail.draw.colour import Colour, contrast
from pacerail.draw.scale import Scale
from pacerail.draw.side import Shape, Side
from pacerail.draw.style import Style
from pacerail.draw.tile_shapes import fill_cut_off, fill_slit, hatch
from pacerail.draw.tiles import Tiles
from pacerail.draw.track import Track
from pacerail.series import SpanKind

# Strengths of lines against their ink, chosen by eye.
RULE_STRENGTH = 0.22
OPEN_STRENGTH = 0.5

# Plain numbers, since these are asked for once per tile.
_FRAME, _STILL, _FAULT = int(SpanKind.FRAME), int(SpanKind.STILL), int(SpanKind.FAULT)


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
class LaneInks:
    """Colours of a lane in one tone, what has been or what is to come."""

    ground: Colour
    paces: tuple[Colour, ...]
    """Fill of a frame for each Pace."""
    times: tuple[Colour, ...]
    """Letters on those fills."""
    still: Colour
    fault: Colour
    open: Colour
    rule: Colour

    @classmethod
    def of(cls, style: Style, strength: float = 1.0) -> LaneInks:
        """Inks of a style; a strength below 1 ghosts them."""
        colours = style.colours
        paces = tuple(
            colour.faded(strength) for colour in (colours.on_pace, colours.late, colours.far_late)
        )
        letters = (style.plate.colour, colours.text)
        fills = [colour.over(style.plate.colour) for colour in paces]
        times = [max(letters, key=functools.partial(contrast, fill)) for fill in fills]
        return cls(
            ground=style.plate_colour,
            paces=paces,
            times=tuple(times),
            still=colours.still.faded(strength),
            fault=colours.fault.faded(strength),
            open=colours.still.faded(OPEN_STRENGTH * strength),
            rule=colours.rule.faded(RULE_STRENGTH),
        )


def draw_rules(canvas: Canvas, side: Side, look: LaneLook, inks: LaneInks) -> None:
    """Draw the faint lines at the rules' frame times over the whole stretch."""
    for height in look.rules:
        canvas.box(side.box(side.start, height, side.length, look.line), inks.rule)


def draw_tiles(canvas: Canvas, side: Side, tiles: Tiles, look: LaneLook, inks: LaneInks) -> None:
    """Draw the rules and all tiles that touch the stretch."""
    draw_rules(canvas, side, look, inks)
    touched = tiles.between(side.start, side.start + side.length)
    part = slice(touched.start, touched.stop)
    columns = (tiles.left, tiles.right, tiles.height, tiles.kind, tiles.pace, tiles.slit)
    rows = zip(*(column[part].tolist() for column in columns), strict=True)
    low = tiles.target_height
    for left, right, height, kind, pace, slit in rows:
        length = max(right - left - look.gap, 1)
        if kind == _FRAME:
            shown = min(height, look.height)
            shape = Shape(left, look.gap, length, max(shown - look.gap, 1))
            ink = inks.paces[pace]
            canvas.wipe(side.box(*shape), inks.ground)
            if height > look.height:
                fill_cut_off(canvas, side, shape, look.tooth, ink)
            elif math.isnan(slit):
                canvas.box(side.box(*shape), ink)
            else:
                fill_slit(canvas, side, shape, slit, look.gap, ink)
        elif kind == _STILL:
            shape = Shape(left, look.gap, length, max(low - look.gap, 2))
            hatch(canvas, side, shape, 4 * look.gap, inks.still)
        else:
            height = 2 * low if kind == _FAULT else low
            shape = Shape(left, look.gap, length, max(height - look.gap, 3))
            canvas.outline(side.box(*shape), look.line, inks.fault if kind == _FAULT else inks.open)


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
