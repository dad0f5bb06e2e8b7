"""A load race: for each platform a clock that stops, and a bar that grows beside the other's.

Both bars have one scale, the longer of the two times, so they grow alike until one stands.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from pacerail.draw.canvas import Box, Canvas, Drawing
from pacerail.draw.lettering import CAP_HEIGHT, fit_label, text_width
from pacerail.draw.scale import design_unit, even, even_up
from pacerail.draw.style import Style
from pacerail.patch import Image, Patch, whole

BAR = 18
"""Height of a bar in pixels of the design. Chosen by eye."""
LEAD = 22
"""Between lines of a panel, in pixels of the design. Chosen by eye."""


@dataclass(frozen=True)
class Runner:
    """One platform in the race."""

    label: str
    length_s: Fraction
    error_s: Fraction = Fraction(0)
    """By how much the length may be off."""


def clock_text(seconds: Fraction, decimals: int) -> str:
    """``12.3``, or ``1:02.3`` from a minute on; nearest, halves go up."""
    unit = 10**decimals
    ticks = int(seconds * unit + Fraction(1, 2))
    minutes, ticks = divmod(ticks, 60 * unit)
    whole_s, part = divmod(ticks, unit)
    tail = f".{part:0{decimals}}"
    return f"{minutes}:{whole_s:02}{tail}" if minutes else f"{whole_s}{tail}"


def running_text(elapsed_s: Fraction, length_s: Fraction, decimals: int) -> str:
    """What a clock shows: ticks that have passed, and at the end the time itself."""
    if elapsed_s >= length_s:
        return clock_text(length_s, decimals)
    unit = 10**decimals
    return clock_text(Fraction(int(elapsed_s * unit), unit), decimals)


class RacePanel:
    """Clock and bar of one of the runners, `width` pixels wide, for a canvas of a given size."""

    def __init__(
        self,
        runners: Sequence[Runner],
        number: int,
        style: Style,
        canvas: tuple[int, int],
        width: int,
        decimals: int,
    ) -> None:
        unit = design_unit(*canvas)
        self._style, self._decimals, self._width = style, decimals, width
        self._runner, self._other = runners[number], runners[1 - number]
        self._scale_s = max(runner.length_s for runner in runners)
        self._padding = even_up(style.plate.padding * unit)
        self._label_size = style.type.label * unit
        self._clock_size = style.type.frame_rate * unit
        self._unit_size = style.type.unit * unit
        self._lead = LEAD * unit
        self._bar_height = max(even(BAR * unit), 4)
        texts = [clock_text(runner.length_s, decimals) for runner in runners]
        # Digits are all of one width, so the longest text has the room of every shorter one.
        self._clock_end = self._padding + max(
            text_width(text, self._clock_size, "SemiBold") for text in texts
        )
        self._bar_top = even_up(
            self._padding
            + CAP_HEIGHT * self._label_size
            + self._lead
            + CAP_HEIGHT * self._clock_size
            + self._lead
        )
        self.size = (width, self._bar_top + self._bar_height + self._padding)
        """Width and height."""
        self._room = (width - 2 * self._padding) // 2 * 2
        colour = style.colours.on_pace
        bar = (max(self._room, 2), self._bar_height)
        self._bar = Drawing(*bar, colour, lambda canvas: None).image()
        self._shown: tuple[tuple[str, bool], Image] | None = None

    def patches(self, elapsed_s: Fraction, x: int, y: int) -> list[Patch]:
        """What to paint at a time after the start, the upper left corner at (x, y)."""
        # The result is kept back until both have arrived.
        is_over = elapsed_s >= self._scale_s
        text = running_text(elapsed_s, self._runner.length_s, self._decimals)
        if self._shown is None or self._shown[0] != (text, is_over):
            self._shown = ((text, is_over), self._draw(text, is_over))
        share = min(elapsed_s, self._runner.length_s) / self._scale_s
        length = even(float(self._room * share))
        patches = [whole(self._shown[1], x, y)]
        if length:
            left, top = x + self._padding, y + self._bar_top
            patches.append(Patch(self._bar, left, top, 0, 0, length, self._bar_height))
        return patches

    def verdict(self) -> str:
        """What is said of a runner once both have arrived: no more than the clocks tell."""
        behind_s = self._runner.length_s - self._other.length_s
        error_s = self._runner.error_s + self._other.error_s
        if abs(behind_s) <= error_s:
            return f"level within {clock_text(error_s, 2)} s" if error_s else "level"
        difference = clock_text(abs(behind_s), self._decimals)
        return f"{difference} s sooner" if behind_s < 0 else f"{difference} s later"

    def _draw(self, text: str, is_over: bool) -> Image:
        colours = self._style.colours
        width, height = self.size
        right = width - self._padding
        label = fit_label(self._runner.label, self._label_size, "Medium", right - self._padding)
        first = self._padding + CAP_HEIGHT * self._label_size
        second = first + self._lead + CAP_HEIGHT * self._clock_size

        def paint(canvas: Canvas) -> None:
            canvas.label(label, self._padding, first, colours.quiet)
            canvas.text(
                text,
                self._clock_end,
                second,
                self._clock_size,
                colours.text,
                weight="SemiBold",
                align=1.0,
            )
            after = self._clock_end + 0.28 * self._unit_size
            canvas.text("s", after, second, self._unit_size, colours.quiet)
            if is_over:
                canvas.text(self.verdict(), right, second, self._unit_size, colours.text, align=1.0)
            track = Box(self._padding, self._bar_top, self._room, self._bar_height)
            canvas.box(track, colours.rule.faded(0.25))

        return Drawing(width, height, self._style.plate_colour, paint).image()
