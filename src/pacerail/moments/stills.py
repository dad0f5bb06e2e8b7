"""Still spans, in one pass: the picture stays what it was, for lossy coding and noise alike.

Every picture is held against the first of its span, not the one before, so that slow motion
adds up. Cells of thumbnails average noise and coding away, and a moving thing of a few pixels
still changes the cells it crosses: a span in which anything moves that can be seen is not still.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

import numpy as np

from pacerail.moments.look import Look, Thumbnail
from pacerail.moments.spans import Span

STILL_LIMIT_S = 0.5
"""A picture that stays longer is still: the product's own limit. (freezedetect of libavfilter
waits for 2 s, longer than many a pause.)"""
# Code values by which a cell may leave the first picture of its span. Noise of sigma 1 coded
# at crf 18 to 23 moves cells of a 180-line picture by up to 1.5, of a larger one by less; a
# bright thing of 5 by 5 pixels of 1080 lines moves its cell by 3 to 5.
_STAYS = 2.0


class StillFinder:
    """Give it every look in order; it tells of spans once they have ended."""

    def __init__(self, refresh_hz: Fraction, limit_s: float) -> None:
        self._least = limit_s * float(refresh_hz)
        self._first: int | None = None
        self._picture: Thumbnail | None = None

    def see(self, look: Look) -> Iterator[Span]:
        """The still span that this picture ends, if there is one."""
        picture = self._picture
        if picture is not None and float(np.abs(look.thumbnail - picture).max()) <= _STAYS:
            return
        yield from self.finish(look.refresh)
        self._first, self._picture = look.refresh, look.thumbnail

    def finish(self, refreshes: int) -> Iterator[Span]:
        """The span that lasts up to there."""
        if self._first is not None and refreshes - self._first > self._least:
            yield self._first, refreshes
