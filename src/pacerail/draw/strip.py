"""A still of the strip for a look before rendering: a segment's tiles on lines, with axes.

A segment longer than one line is folded onto further lines, each with its own time axis,
instead of shrinking its tiles.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pacerail.draw.canvas import Box, Canvas, draw_image
from pacerail.draw.furniture import draw_rule_labels
from pacerail.draw.lane import LaneLook, Side, draw_rate, draw_tiles
from pacerail.draw.layout import rules_within
from pacerail.draw.lettering import CAP_HEIGHT, fit_label, text_width
from pacerail.draw.library import load_skia
from pacerail.draw.scale import Scale, even_up
from pacerail.draw.style import Style
from pacerail.draw.tiles import Tiles, lay_tiles
from pacerail.draw.track import Track
from pacerail.errors import UsageError
from pacerail.patch import Image
from pacerail.timebase import format_clock

# Pixels per refresh to choose from, widest first: the first that folds a segment onto few
# lines. Below 4 a tile and its gap can no longer be told apart.
PIXELS_PER_REFRESH = (12, 10, 8, 6, 4)
FEW_LINES = 8
MOST_LINES = 60

MARGIN = 48
GAP = 20
TITLE, WORDS, TICKS = 40.0, 26.0, 22.0
TICK_STEPS_S = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0)


@dataclass(frozen=True)
class _Plan:
    """Everything that decides the size of the picture."""

    width: int
    height: int
    head: int
    """Pixels above the first line."""
    line_height: int
    lines: int
    left: int
    """Column at which every line starts."""
    length: int
    """Pixels of a full line; a whole number of refreshes."""
    scale: Scale
    first: int
    """Strip pixel at which the segment starts."""
    end: int
    look: LaneLook
    rate_height: int


def draw_strip(
    track: Track,
    style: Style,
    start_s: float,
    end_s: float,
    *,
    width: int = 1920,
    caption: Sequence[str] = (),
) -> Image:
    """The strip of the segment [start_s, end_s) in seconds, on a ground of its own.

    caption : lines of facts, written under the label.
    Raises UsageError when the segment is empty or too long for one picture.
    """
    duration = float(track.series.duration_s)
    start_s, end_s = max(start_s, 0.0), min(end_s, duration)
    if not start_s < end_s:
        raise UsageError(
            f"segment must lie within the capture of {duration:.3f} s, got {start_s:.3f} s to "
            f"{end_s:.3f} s; give an earlier start or a later end"
        )
    plan = _plan(track, style, start_s, end_s, width, len(caption))
    tiles = lay_tiles(track.series, plan.scale)

    def paint(canvas: Canvas) -> None:
        _draw_head(canvas, plan, track, style, caption)
        for line in range(plan.lines):
            _draw_line(canvas, plan, track, tiles, style, line)

    return draw_image(plan.width, plan.height, style.plate.colour, paint)


def write_png(image: Image, path: Path) -> None:
    """Write an image as PNG. Raises OSError when that fails."""
    skia = load_skia()
    picture = skia.Image.fromarray(image.rgba, colorType=skia.kRGBA_8888_ColorType, copy=True)
    path.write_bytes(bytes(picture.encodeToData(skia.EncodedImageFormat.kPNG, 100)))


def _plan(
    track: Track, style: Style, start_s: float, end_s: float, width: int, words: int
) -> _Plan:
    hz = track.series.refresh_hz
    gutter = even_up(text_width("100 ms", TICKS, "Medium") + GAP)
    room = width - 2 * MARGIN - gutter
    for step in PIXELS_PER_REFRESH:
        length = room // step * step
        scale = Scale(hz, step)
        first, end = (int(scale.pixels(moment * 1000.0)) for moment in (start_s, end_s))
        lines = math.ceil((end - first) / length)
        if lines <= FEW_LINES:
            break
    if lines > MOST_LINES:
        longest = MOST_LINES * length / scale.pixels_per_ms / 1000.0
        raise UsageError(
            f"segment must be at most {longest:.0f} s for one picture, got {end_s - start_s:.0f} s;"
            " give an earlier end"
        )
    lane_height = even_up(int(scale.pixels(style.lane.cut_ms)))
    look = LaneLook(
        height=lane_height,
        gap=max(1, round(style.lane.gap * step / 12)),
        line=2,
        detail_size=TICKS,
        rules=rules_within(style, scale, lane_height),
    )
    rate_height = 24
    line_height = even_up(rate_height + GAP / 2 + look.height + 2 + TICKS + 2 * GAP)
    head = even_up(MARGIN + TITLE + words * 1.35 * WORDS + GAP)
    height = even_up(head + lines * line_height + MARGIN - GAP)
    left = MARGIN + gutter
    return _Plan(
        width, height, head, line_height, lines, left, length, scale, first, end, look, rate_height
    )


def _draw_head(
    canvas: Canvas, plan: _Plan, track: Track, style: Style, caption: Sequence[str]
) -> None:
    room = plan.width - 2 * MARGIN
    baseline = MARGIN + CAP_HEIGHT * TITLE
    title = fit_label(track.label, TITLE, "SemiBold", room)
    canvas.label(title, MARGIN, baseline, style.colours.text)
    for number, words in enumerate(caption):
        line = fit_label(words, WORDS, "Regular", room)
        canvas.label(line, MARGIN, baseline + (number + 1) * 1.35 * WORDS, style.colours.quiet)


def _draw_line(
    canvas: Canvas, plan: _Plan, track: Track, tiles: Tiles, style: Style, line: int
) -> None:
    start = plan.first + line * plan.length
    length = min(plan.length, plan.end - start)
    axis = plan.head + line * plan.line_height + plan.rate_height + GAP // 2 + plan.look.height
    side = Side("right", 1, start, length, axis, plan.left)
    with canvas.clipped(Box(plan.left, axis - plan.line_height, length, 2 * plan.line_height)):
        draw_tiles(canvas, side, tiles, plan.look, style)
        band = (plan.look.height + GAP // 2, plan.rate_height)
        draw_rate(canvas, side, track, plan.scale, band, style.colours.on_pace.faded(0.5))
    canvas.box(Box(plan.left, axis, length, 2), style.colours.rule.faded(0.7))
    draw_rule_labels(canvas, side, plan.look, style, plan.left - GAP // 2, align=1.0)
    _draw_times(canvas, plan, style, start, length, axis)


def _draw_times(
    canvas: Canvas, plan: _Plan, style: Style, start: int, length: int, axis: int
) -> None:
    """Ticks under the axis, each with its time, as dense as their texts allow."""
    pixels_per_s = plan.scale.pixels_per_ms * 1000.0
    room = 1.4 * text_width("00:00.0", TICKS, "Medium")
    step = next((s for s in TICK_STEPS_S if s * pixels_per_s >= room), TICK_STEPS_S[-1])
    baseline = axis + 10 + CAP_HEIGHT * TICKS + 6
    for number in range(math.ceil(start / pixels_per_s / step), int(1e9)):
        moment = number * step
        offset = int(moment * pixels_per_s + 0.5) - start
        if offset >= length:
            break
        x = plan.left + offset
        canvas.box(Box(x, axis, 2, 8), style.colours.quiet)
        text = format_clock(moment)[:-2]
        half = text_width(text, TICKS, "Medium") / 2
        if x - half >= plan.left - GAP and x + half <= plan.width - MARGIN:
            canvas.text(text, x, baseline, TICKS, style.colours.quiet, align=0.5)
