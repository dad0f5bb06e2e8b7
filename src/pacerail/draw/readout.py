"""How a readout is set: a column, a block or a line of numbers, none of which ever jumps.

Numbers end at fixed columns and the words behind them start at fixed columns; with digits
of one width, a digit only ever changes in place.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from pacerail.draw.canvas import Box, Canvas
from pacerail.draw.lettering import CAP_HEIGHT, Label, Weight, fit_label, text_width
from pacerail.draw.reading import RATE_WORDS, WORDS, Reader, Reading
from pacerail.draw.style import Style
from pacerail.draw.track import Track

# Proportions of the setting, chosen by eye.
WORD_SPACE = 0.28
"""Between a number and its word, in sizes of the word."""
LABEL_LEAD = 0.55
"""Between the label and the frame rate under it, in sizes of the label."""
LINE_STEP = 1.3
"""From one detail to the next in a column, in sizes of the detail."""

NUMBERS: Weight = "SemiBold"
WORD_WEIGHT: Weight = "Medium"


class Readout:
    """Sets the numbers of one track in the form its style asks for.

    together : all tracks of the overlay; their readouts share the columns.
    unit : pixels of the canvas per pixel of the design.
    """

    def __init__(self, track: Track, together: Sequence[Track], style: Style, unit: float) -> None:
        self.reader = Reader(track, style)
        self._style = style
        sizes = style.type
        self._label_size = sizes.label * unit
        self._rate_size = sizes.frame_rate * unit
        self._unit_size = sizes.unit * unit
        self._detail_size = sizes.detail * unit
        self._gutter = style.readout.gutter * unit
        self._rate_space = WORD_SPACE * self._unit_size
        self._detail_space = WORD_SPACE * self._detail_size
        widest = [Reader(one, style).widest for one in together]
        rates = [text_width(reading.frame_rate, self._rate_size, NUMBERS) for reading in widest]
        self._rate_end = max(rates)
        rate_words = max(text_width(word, self._unit_size, WORD_WEIGHT) for word in RATE_WORDS)
        self._rate_width = self._rate_end + self._rate_space + rate_words
        self._value_widths = [
            max(text_width(value, self._detail_size, NUMBERS) for value in values)
            for values in zip(*(reading.details for reading in widest), strict=True)
        ]
        self._words = [WORDS[name] for name in style.readout.show]
        self._word_widths = [text_width(w, self._detail_size, WORD_WEIGHT) for w in self._words]
        self._label_cap = CAP_HEIGHT * self._label_size
        self._rate_cap = CAP_HEIGHT * self._rate_size
        self._column_lead = 0.4 * self._detail_size if self._words else 0.0
        longest_label = max(self._fit(one.label, math.inf).width for one in together)
        self._label_width = min(longest_label, style.readout.label_width * unit)
        if style.readout.form != "line":
            self._label_width = max(self._label_width, self._rate_width)
        self._label = self._fit(track.label, self._label_width)

    @property
    def width(self) -> float:
        """Pixels that the readout needs across."""
        form, gutter = self._style.readout.form, self._gutter
        if form == "column":
            return max(self._label_width, self._detail_width)
        if form == "block":
            return self._label_width + (gutter + self._detail_width if self._words else 0.0)
        pairs = zip(self._value_widths, self._word_widths, strict=True)
        details = sum(gutter + value + self._detail_space + word for value, word in pairs)
        return self._label_width + gutter + self._rate_width + details

    @property
    def height(self) -> float:
        """Pixels from the top of the first line's capitals to the foot of the last."""
        if self._style.readout.form == "line":
            return max(self._rate_cap, self._label_cap)
        main = self._label_cap + LABEL_LEAD * self._label_size + self._rate_cap
        if self._style.readout.form == "column":
            return main + len(self._words) * LINE_STEP * self._detail_size + self._column_lead
        lines = max(len(self._words) - 1, 0)
        return max(main, self._label_cap + lines * 1.1 * self._detail_size)

    def draw(self, canvas: Canvas, box: Box, reading: Reading) -> None:
        """Draw into a box of at least the readout's size."""
        {"column": self._draw_column, "block": self._draw_block, "line": self._draw_line}[
            self._style.readout.form
        ](canvas, box, reading)

    def _draw_block(self, canvas: Canvas, box: Box, reading: Reading) -> None:
        """Label above frame rate at the left, details from top to foot at the right."""
        foot = float(box.bottom)
        self._draw_label(canvas, box.x, box.y + self._label_cap)
        self._draw_rate(canvas, box.x, foot, reading)
        top, last = box.y + self._label_cap, len(reading.details) - 1
        word_x = box.right - max(self._word_widths, default=0.0)
        for row, value in enumerate(reading.details):
            baseline = top + row / last * (foot - top) if last else foot
            self._draw_detail(canvas, word_x, baseline, row, value)

    def _draw_column(self, canvas: Canvas, box: Box, reading: Reading) -> None:
        """Label, frame rate and details under one another."""
        foot = box.y + self._label_cap + LABEL_LEAD * self._label_size + self._rate_cap
        self._draw_label(canvas, box.x, box.y + self._label_cap)
        self._draw_rate(canvas, box.x, foot, reading)
        word_x = box.x + max(self._value_widths, default=0.0) + self._detail_space
        for row, value in enumerate(reading.details):
            baseline = foot + self._column_lead + (row + 1) * LINE_STEP * self._detail_size
            self._draw_detail(canvas, word_x, baseline, row, value)

    def _draw_line(self, canvas: Canvas, box: Box, reading: Reading) -> None:
        """Everything on one base line."""
        foot = box.y + (box.height + self._rate_cap) / 2
        self._draw_label(canvas, box.x, foot)
        x = box.x + self._label_width + self._gutter
        self._draw_rate(canvas, x, foot, reading)
        x += self._rate_width
        for row, value in enumerate(reading.details):
            x += self._gutter + self._value_widths[row] + self._detail_space
            self._draw_detail(canvas, x, foot, row, value)
            x += self._word_widths[row]

    @property
    def _detail_width(self) -> float:
        if not self._words:
            return 0.0
        return max(self._value_widths) + self._detail_space + max(self._word_widths)

    def _fit(self, text: str, room: float) -> Label:
        return fit_label(text, self._label_size, WORD_WEIGHT, room)

    def _draw_label(self, canvas: Canvas, x: float, baseline: float) -> None:
        canvas.label(self._label, x, baseline, self._style.colours.quiet)

    def _draw_rate(self, canvas: Canvas, x: float, foot: float, reading: Reading) -> None:
        colours, end = self._style.colours, x + self._rate_end
        canvas.text(
            reading.frame_rate, end, foot, self._rate_size, colours.text, weight=NUMBERS, align=1
        )
        x = end + self._rate_space
        canvas.text(reading.rate_word, x, foot, self._unit_size, colours.quiet, weight=WORD_WEIGHT)

    def _draw_detail(
        self, canvas: Canvas, word_x: float, baseline: float, row: int, value: str
    ) -> None:
        colours, size = self._style.colours, self._detail_size
        end = word_x - self._detail_space
        canvas.text(value, end, baseline, size, colours.text, weight=NUMBERS, align=1)
        canvas.text(self._words[row], word_x, baseline, size, colours.quiet, weight=WORD_WEIGHT)
