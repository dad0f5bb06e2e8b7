"""The head of a sheet: its title, and sentences below."""

from __future__ import annotations

from collections.abc import Sequence

from pacerail.draw.canvas import Canvas
from pacerail.draw.lettering import CAP_HEIGHT, fit_label, wrapped
from pacerail.draw.scale import even_up
from pacerail.draw.strip_lines import GAP, MARGIN
from pacerail.draw.style import Colours

TITLE, WORDS = 40.0, 26.0
LEAD = 1.35
"""From one line of words to the next, in sizes of the words."""


class Heading:
    """A title and sentences that fold to the width of a sheet, in pixels."""

    def __init__(self, title: str, sentences: Sequence[str], width: int) -> None:
        self._title, self._room = title, width - 2 * MARGIN
        self._lines = [
            line for text in sentences for line in wrapped(text, WORDS, "Regular", self._room)
        ]
        words = len(self._lines) * LEAD * WORDS
        self.height = even_up(MARGIN + CAP_HEIGHT * TITLE + words + 2 * GAP)
        """Pixels from the top of the sheet to what comes below; even."""

    def draw(self, canvas: Canvas, colours: Colours) -> None:
        """Draw it at the top of the sheet."""
        y = MARGIN + CAP_HEIGHT * TITLE
        canvas.label(fit_label(self._title, TITLE, "SemiBold", self._room), MARGIN, y, colours.text)
        for line in self._lines:
            y += LEAD * WORDS
            label = fit_label(line, WORDS, "Regular", self._room)
            canvas.label(label, MARGIN, y, colours.quiet)
