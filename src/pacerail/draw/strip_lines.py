"""One line of a strip sheet: its tiles or overview, frame rate, event marks and times."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pacerail.draw.canvas import Box, Canvas
from pacerail.draw.furniture import draw_rule_labels
from pacerail.draw.lane import LaneInks, LaneLook, draw_rate, draw_rules, draw_tiles
from pacerail.draw.lettering import CAP_HEIGHT, text_width
from pacerail.draw.scale import Scale
from pacerail.draw.side import Side
from pacerail.draw.style import Style
from pacerail.draw.tile_times import draw_times
from pacerail.draw.tiles import Tiles
from pacerail.draw.track import Track
from pacerail.figure import Event, EventKind
from pacerail.timebase import format_clock

MARGIN = 48
GAP = 20
SMALL = 22.0
"""Size of the letters at axes and marks."""
RATE_HEIGHT = 24
MARK_HEIGHT = 30
PENNANT = ((0, 4), (0, 24), (10, 17), (2, 10), (2, 4))
"""Corners of a mark: pixels along from its moment, and outward from the row of marks."""
PENNANT_ROOM, PENNANT_GAP = 14, 6
"""Pixels from a mark to its words, and from its words to the next one."""
AXIS = 2
TICK = 8
TICK_STEPS_S = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0)


@dataclass(frozen=True, eq=False)
class Sheet:
    """What all lines of a strip share. Two tracks are mirrored on one axis."""

    style: Style
    tracks: Sequence[Track]
    tiles: Sequence[Tiles]
    events: Sequence[Sequence[Event]]
    """Marks of each track."""
    scale: Scale
    look: LaneLook
    width: int
    left: int
    """Column at which lines start."""
    length: int
    """Pixels of a full line."""
    spans_s: Sequence[tuple[float, float]]
    """Start and end of what is shown of each track, on its own clock."""
    pixels_per_s: float
    column_s: float
    """Seconds that a column of an overview stands for; 0 where tiles are drawn."""

    @property
    def lines(self) -> int:
        """Number of lines."""
        pixels = max(end_s - start_s for start_s, end_s in self.spans_s) * self.pixels_per_s
        return max(math.ceil(round(pixels, 6) / self.length), 1)

    @property
    def mark_base(self) -> int:
        """Pixels from the axis outward to the row of event marks."""
        return self.look.height + (0 if self.column_s else RATE_HEIGHT + GAP // 2)

    def reach(self, index: int) -> int:
        """Pixels from the axis outward that a track takes."""
        return self.mark_base + (MARK_HEIGHT if self.events[index] else 0)

    @property
    def line_height(self) -> int:
        """Pixels from the top of one line to the top of the next."""
        tracks = sum(self.reach(index) for index in range(len(self.tracks))) + AXIS
        return tracks + TICK + 6 + round(CAP_HEIGHT * SMALL) + 2 * GAP


def draw_line(canvas: Canvas, sheet: Sheet, number: int, top: int) -> None:
    """Draw a line whose uppermost pixel row is `top`."""
    ahead_s = number * sheet.length / sheet.pixels_per_s
    axis = top + sheet.reach(0)
    lengths = []
    for index, track in enumerate(sheet.tracks):
        first_s, end_s = sheet.spans_s[index]
        start_s = first_s + ahead_s
        left_over = math.ceil(round((end_s - start_s) * sheet.pixels_per_s, 6))
        length = max(min(sheet.length, left_over), 0)
        lengths.append(length)
        start = 0 if sheet.column_s else int(sheet.scale.pixels(start_s * 1000.0))
        base = axis if index == 0 else axis + AXIS
        side = Side("right", 1 if index == 0 else -1, start, length, base, sheet.left)
        room = Box(sheet.left, top, length, sheet.line_height)
        with canvas.clipped(room):
            if sheet.column_s:
                _draw_overview(canvas, sheet, side, sheet.tiles[index], (start_s, end_s))
            else:
                inks = LaneInks.of(sheet.style)
                draw_tiles(canvas, side, sheet.tiles[index], sheet.look, inks)
                if sheet.style.lane.stall_times:
                    draw_times(canvas, side, sheet.tiles[index], sheet.look, inks)
                _draw_rate(canvas, sheet, side, track)
        if not sheet.column_s:
            _label_rate(canvas, sheet, side, track)
        draw_rule_labels(canvas, side, sheet.look, sheet.style, sheet.left - GAP // 2, align=1.0)
        _draw_marks(canvas, sheet, side, sheet.events[index], start_s)
    colours = sheet.style.colours
    canvas.box(Box(sheet.left, axis, max(lengths), AXIS), colours.rule.faded(0.7))
    foot = axis + AXIS + sum(sheet.reach(index) for index in range(1, len(sheet.tracks)))
    _draw_times(canvas, sheet, sheet.spans_s[0][0] + ahead_s, max(lengths), foot)


def _draw_rate(canvas: Canvas, sheet: Sheet, side: Side, track: Track) -> None:
    band = (sheet.look.height + GAP // 2, RATE_HEIGHT)
    draw_rate(canvas, side, track, sheet.scale, band, sheet.style.colours.on_pace.faded(0.5))


def _label_rate(canvas: Canvas, sheet: Sheet, side: Side, track: Track) -> None:
    """What the top of the frame-rate lane stands for."""
    _, middle = side.point(side.start, sheet.look.height + (GAP + RATE_HEIGHT) // 2)
    text = f"{float(track.series.refresh_hz):.4g} fps"
    ink, baseline = sheet.style.colours.quiet, middle + CAP_HEIGHT * SMALL / 2
    canvas.text(text, sheet.left - GAP // 2, baseline, SMALL, ink, align=1.0)


def _draw_overview(
    canvas: Canvas, sheet: Sheet, side: Side, tiles: Tiles, span_s: tuple[float, float]
) -> None:
    """Columns as high as the longest frame in them, from the start of a line to the end."""
    start_s, end_s = span_s
    inks = LaneInks.of(sheet.style)
    draw_rules(canvas, side, sheet.look, inks)
    step = round(sheet.column_s * sheet.pixels_per_s)
    count = math.ceil(side.length / step)
    seconds = start_s + sheet.column_s * np.arange(count + 1)
    edges = np.minimum(seconds, end_s) * sheet.scale.pixels_per_ms * 1000.0
    heights, paces = tiles.longest(edges)
    for column, (height, pace) in enumerate(zip(heights, paces, strict=True)):
        if height < 0:
            low = side.box(column * step, sheet.look.gap, step, tiles.target_height // 2)
            canvas.box(low, inks.open)
        else:
            shown = min(int(height), sheet.look.height) - sheet.look.gap
            bar = side.box(column * step, sheet.look.gap, step - 1, max(shown, 2))
            canvas.box(bar, inks.paces[pace])


def _draw_marks(
    canvas: Canvas, sheet: Sheet, side: Side, events: Sequence[Event], start_s: float
) -> None:
    """A pennant over each event and, where there is room for it, what it is.

    That stands behind the pennant, or before one at the end of the line.
    """
    colours, cap = sheet.style.colours, CAP_HEIGHT * SMALL
    base, line_end = sheet.mark_base, sheet.left + sheet.length
    places = [round((event.start_s - start_s) * sheet.pixels_per_s) for event in events]
    free_from: float = sheet.left
    for number, (event, along) in enumerate(zip(events, places, strict=True)):
        if not 0 <= along < side.length:
            continue
        left = side.start + along
        canvas.polygon([side.point(left + x, base + y) for x, y in PENNANT], colours.text)
        x, y = side.point(left + PENNANT_ROOM, base + 17)
        text = _event_text(event)
        width = text_width(text, SMALL, "Medium")
        following = places[number + 1] if number + 1 < len(places) else math.inf
        if x + width > line_end:
            x -= PENNANT_ROOM + PENNANT_GAP + width
        if free_from <= x and x + width <= sheet.left + following - PENNANT_GAP:
            canvas.text(text, x, y + cap / 2, SMALL, colours.quiet)
            free_from = x + width + GAP
        free_from = max(free_from, sheet.left + along + PENNANT_ROOM)


def _event_text(event: Event) -> str:
    seconds = event.end_s - event.start_s
    if event.kind in (EventKind.CUT, EventKind.NEW_PART):
        return event.kind.value
    length = f"{seconds:.1f} s" if seconds >= 1 else f"{1000 * seconds:.0f} ms"
    return f"{event.kind.value} {length}"


def _draw_times(canvas: Canvas, sheet: Sheet, start_s: float, length: int, foot: int) -> None:
    """Ticks under the axis, each with its time, as dense as their texts allow."""
    colours = sheet.style.colours
    decimals = 1 if sheet.column_s == 0 else 0
    room = 1.5 * text_width(
        _clock(start_s + length / sheet.pixels_per_s, decimals), SMALL, "Medium"
    )
    wide = [step for step in TICK_STEPS_S if step * sheet.pixels_per_s >= room]
    step = wide[0] if wide else TICK_STEPS_S[-1]
    baseline = foot + TICK + 6 + CAP_HEIGHT * SMALL
    first = math.ceil(round(start_s / step, 6))
    last = (start_s + length / sheet.pixels_per_s) / step
    for number in range(first, math.ceil(round(last, 6))):
        moment = number * step
        x = sheet.left + round((moment - start_s) * sheet.pixels_per_s)
        canvas.box(Box(x, foot, 2, TICK), colours.quiet)
        text = _clock(moment, decimals)
        if x + text_width(text, SMALL, "Medium") / 2 <= sheet.width - GAP:
            canvas.text(text, x, baseline, SMALL, colours.quiet, align=0.5)


def _clock(moment_s: float, decimals: int) -> str:
    text = format_clock(moment_s)
    return text[: -3 + decimals] if decimals else text[:-4]
