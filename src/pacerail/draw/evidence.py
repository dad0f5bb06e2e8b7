"""What speaks for a native size: the strength of every size, and sizes over time."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacerail.draw.canvas import Box, Canvas, Drawing
from pacerail.draw.heading import LEAD, WORDS, Heading
from pacerail.draw.lettering import CAP_HEIGHT, text_width
from pacerail.draw.scale import even_up
from pacerail.draw.strip_lines import AXIS, GAP, MARGIN, SMALL, TICK
from pacerail.draw.style import Style
from pacerail.timebase import format_clock

WIDTH = 1920
PLOT_HEIGHT = 220
SERIES_HEIGHT = 180
BAR, BAR_GAP = 3, 1
"""Pixels of a bar and of the room after it."""
# Strengths are natural logarithms of one over the chance that noise does the same.
RULES = {math.log(10**3): "1 in 1000", math.log(10**9): "1 in a billion"}
KEY = (
    "Bars: how unlikely noise alone would be so strong. Both directions together must reach the "
    "line; dim sizes do not count, being those of codecs or too near the size shown."
)
TOP = math.log(10**15)
"""Bars are cut off here: nothing more certain can be seen."""


@dataclass(frozen=True, eq=False)
class Evidence:
    """Strength of every native size along one axis."""

    unit: str
    """What the axis counts."""
    sizes: NDArray[np.float64]
    strengths: NDArray[np.float64]
    counts: NDArray[np.bool_]
    """False for sizes whose period codecs have too, or that are too near the size shown."""
    found: int | None
    """The size that the verdict names, if one was found along this axis."""


@dataclass(frozen=True)
class WindowSize:
    """Native height in a stretch of time; None where it cannot be told."""

    start_s: float
    end_s: float
    height: int | None


def lay_evidence(
    label: str,
    caption: Sequence[str],
    evidence: Sequence[Evidence],
    enough: float,
    windows: Sequence[WindowSize],
    shown_height: int,
    style: Style,
) -> Drawing:
    """The sheet: verdict in words, a plot for each axis, and sizes over time if given.

    enough : strength that each axis must reach on average for a size to be found.
    """
    style = style.opaque
    heading = Heading(label, (*caption, KEY), WIDTH)
    foot = TICK + 6 + round(CAP_HEIGHT * SMALL)
    plot_step = PLOT_HEIGHT + foot + even_up(LEAD * SMALL) + 2 * GAP
    series_top = heading.height + len(evidence) * plot_step
    height = even_up(series_top + (SERIES_HEIGHT + foot + 3 * GAP if windows else 0) + MARGIN / 2)

    def paint(canvas: Canvas) -> None:
        heading.draw(canvas, style.colours)
        for number, each in enumerate(evidence):
            _draw_plot(canvas, each, enough, heading.height + number * plot_step, style)
        if windows:
            _draw_series(canvas, windows, shown_height, series_top + 2 * GAP, style)

    return Drawing(WIDTH, height, style.plate.colour, paint)


def _left() -> int:
    """Column at which plots start: right of the widest label of a rule."""
    widest = max(text_width(text, SMALL, "Medium") for text in RULES.values())
    return MARGIN + even_up(widest + GAP // 2)


def _draw_plot(canvas: Canvas, each: Evidence, enough: float, top: int, style: Style) -> None:
    """Bars over an axis of sizes, from half the size shown to all of it or from none to half."""
    colours, left = style.colours, _left()
    width = WIDTH - MARGIN - left
    base = top + even_up(LEAD * SMALL) + PLOT_HEIGHT
    smallest, largest = float(each.sizes.min()), float(each.sizes.max())
    scale = width / (largest - smallest)
    canvas.text(each.unit, left, top + CAP_HEIGHT * SMALL, SMALL, colours.text)

    def across(size: float) -> int:
        return left + round((size - smallest) * scale)

    def up(strength: float) -> int:
        return round(PLOT_HEIGHT * min(max(strength, 0.0), TOP) / TOP)

    for strength, text in RULES.items():
        y = base - up(strength)
        canvas.box(Box(left, y, width, 1), colours.rule.faded(0.35))
        ink = colours.quiet
        canvas.text(text, left - GAP // 2, y + CAP_HEIGHT * SMALL / 2, SMALL, ink, align=1.0)
    for first in range(left, left + width - BAR, BAR + BAR_GAP):
        low, high = (smallest + (x - left) / scale for x in (first, first + BAR + BAR_GAP))
        inside = (each.sizes >= low) & (each.sizes < high)
        if not inside.any():
            continue
        strength = float(each.strengths[inside].max())
        counts = bool(each.counts[inside].any())
        is_found = each.found is not None and low <= each.found < high
        ink = colours.late if is_found else colours.on_pace if counts else colours.still.faded(0.3)
        bar = max(up(strength), 1)
        canvas.box(Box(first, base - bar, BAR, bar), ink)
    y = base - up(enough)
    canvas.box(Box(left, y, width, 2), colours.text.faded(0.6))
    baseline = y + CAP_HEIGHT * SMALL / 2
    canvas.text("enough", left - GAP // 2, baseline, SMALL, colours.text, align=1.0)
    canvas.box(Box(left, base, width, AXIS), colours.rule.faded(0.7))
    _draw_sizes(canvas, across, (smallest, largest), base + AXIS, style)
    if each.found is not None:
        x = across(each.found)
        text = f"{each.found}"
        flip = x + GAP + text_width(text, WORDS, "SemiBold") > left + width
        canvas.text(
            text,
            x - GAP // 2 if flip else x + GAP // 2,
            top + CAP_HEIGHT * WORDS,
            WORDS,
            colours.late,
            weight="SemiBold",
            align=1.0 if flip else 0.0,
        )


def _draw_sizes(
    canvas: Canvas,
    across: Callable[[float], int],
    ends: tuple[float, float],
    foot: int,
    style: Style,
) -> None:
    """Ticks under an axis, at every twentieth of the size shown."""
    smallest, largest = ends
    baseline = foot + TICK + 6 + CAP_HEIGHT * SMALL
    for number in range(11):
        size = smallest + (largest - smallest) * number / 10
        x = across(size)
        canvas.box(Box(min(x, WIDTH - MARGIN - AXIS), foot, AXIS, TICK), style.colours.quiet)
        align = 0.0 if number == 0 else 1.0 if number == 10 else 0.5
        canvas.text(f"{size:.0f}", x, baseline, SMALL, style.colours.quiet, align=align)


def _draw_series(
    canvas: Canvas, windows: Sequence[WindowSize], shown_height: int, top: int, style: Style
) -> None:
    """A tile for each window, as high as its share of the height shown."""
    colours, left = style.colours, _left()
    width = WIDTH - MARGIN - left
    base = top + SERIES_HEIGHT
    start_s, end_s = windows[0].start_s, windows[-1].end_s
    scale = width / (end_s - start_s)

    def up(height: float) -> int:
        return round((SERIES_HEIGHT - 2 * GAP) * height / shown_height)

    canvas.text("native height over time", left, top, SMALL, colours.text)
    for share in (0.5, 0.75, 1.0):
        y = base - up(share * shown_height)
        canvas.box(Box(left, y, width, 1), colours.rule.faded(0.35))
        text = f"{share * shown_height:.0f}"
        baseline = y + CAP_HEIGHT * SMALL / 2
        canvas.text(text, left - GAP // 2, baseline, SMALL, colours.quiet, align=1.0)
    written = None
    for window in windows:
        first = left + round((window.start_s - start_s) * scale)
        end = left + round((window.end_s - start_s) * scale)
        room = max(end - first - 2, 1)
        if window.height is None:
            # Hollow, as what the recording lost is on a strip: nothing is known here.
            canvas.outline(Box(first, base - GAP, room, GAP), 2, colours.still.faded(0.6))
            written = None
            continue
        bar = up(window.height)
        ink = colours.on_pace if window.height == shown_height else colours.late
        canvas.box(Box(first, base - bar, room, bar), ink)
        text = f"{window.height}"
        if text != written and text_width(text, SMALL, "Medium") + GAP <= room:
            baseline = base - bar + GAP // 2 + CAP_HEIGHT * SMALL
            canvas.text(text, first + GAP // 2, baseline, SMALL, style.plate.colour)
            written = text
    canvas.box(Box(left, base, width, AXIS), colours.rule.faded(0.7))
    baseline = base + AXIS + TICK + 6 + CAP_HEIGHT * SMALL
    for share, align in ((0.0, 0.0), (0.5, 0.5), (1.0, 1.0)):
        x = left + round(share * width)
        moment_s = start_s + share * (end_s - start_s)
        canvas.box(Box(min(x, left + width - AXIS), base + AXIS, AXIS, TICK), colours.quiet)
        canvas.text(format_clock(moment_s), x, baseline, SMALL, colours.quiet, align=align)
