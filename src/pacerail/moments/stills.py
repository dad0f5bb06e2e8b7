"""Still spans: runs of refreshes that measuring took for held, where the picture stays.

Measuring holds every refresh against the capture's own noise, so a run starts and ends where
it says. Two things it cannot tell from one refresh to the next. What a key picture codes
anew, or coding refines for long after a cut, may look like a new frame: a run goes on over
it. And motion that is too slow for coding to render, such as drifting fog, looks held: means
of cells over a part of a run average noise away, and motion takes each of them further,
while coding that refines a picture moves one or two.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from pacerail.moments.look import Look, Thumbnail
from pacerail.record import Verdict

# Parts of the shortest still span: three steps between them, of which coding may spoil one.
_PARTS = 4
# Share of the steps in the later half of a run that coding leaves alone: in the earlier one it
# still refines what a cut brought, and a key picture may come at any time.
_QUIETEST = 0.25
# Code values by which the cell that changes most may step from part to part. (Measured on held
# pictures of the demo, 180 and 360 lines, H.264 and H.265 at crf 18 to 35, noise of sigma 0 to
# 2: up to 1.4, at crf 35 up to 2.5. Fog, or a gull of 7 pixels, that measuring missed: from 3.0.)
_CREEP = 2.7
# The same from a held picture to a key picture of it. (Measured there: up to 8.3.)
_CODED_ANEW = 9.0


@dataclass(frozen=True)
class Still:
    """Refreshes [first, end) that show one picture."""

    first: int
    end: int
    end_is_shown: bool
    """False where the capture ends or breaks off first."""


class StillFinder:
    """Give it every look in order; it tells of still spans once they have ended.

    verdict, uncertain : (n,) of every refresh, as `pacerail.record.TimingRecord` has them.
    """

    def __init__(
        self,
        verdict: NDArray[np.uint8],
        uncertain: NDArray[np.bool_],
        refresh_hz: Fraction,
        limit_s: float,
    ) -> None:
        self._verdict, self._uncertain = verdict, uncertain
        self._least = limit_s * float(refresh_hz)
        self._last: Look | None = None
        self._run = _Run(0, self._least / _PARTS)

    def see(self, look: Look) -> Iterator[Still]:
        """The still span that this picture ends, if there is one."""
        last, self._last = self._last, look
        since = self._verdict[last.refresh + 1 if last else 0 : look.refresh + 1]
        is_lost = bool((since == Verdict.FAULT).any())
        is_held = len(since) > 0 and since[-1] == Verdict.HELD
        if last is not None and not is_lost and (is_held or self._shows_the_same(last, look)):
            self._run.add(look)
            return
        if last is not None:
            end = last.refresh + 1 if is_lost else look.refresh
            yield from self._told(end, end_is_shown=not is_lost)
        self._run = _Run(look.refresh, self._least / _PARTS)

    def finish(self, refreshes: int) -> Iterator[Still]:
        """The still span that lasts to the end."""
        yield from self._told(refreshes, end_is_shown=False)

    def _shows_the_same(self, last: Look, look: Look) -> bool:
        """Whether what measuring took for a new frame is the last one, coded anew."""
        step = float(np.abs(look.thumbnail - last.thumbnail).max())
        is_key = look.picture_type == "I" and last.picture_type != "I"
        is_doubtful = bool(self._uncertain[look.refresh : look.refresh + 1].any())
        return (is_key and step <= _CODED_ANEW) or (is_doubtful and step <= _CREEP)

    def _told(self, end: int, *, end_is_shown: bool) -> Iterator[Still]:
        if end - self._run.first > self._least and not self._run.creeps():
            yield Still(self._run.first, end, end_is_shown)


class _Run:
    """A run of held pictures, and how far each part of it lies from the one before."""

    def __init__(self, first: int, part: float) -> None:
        self.first, self._part = first, part
        self._number = 0
        self._thumbnails: list[Thumbnail] = []
        self._mean: Thumbnail | None = None
        self._steps: list[float] = []

    def add(self, look: Look) -> None:
        """Take the next picture. The first of a run stays out, as it may be torn."""
        number = int((look.refresh - self.first) / self._part)
        if number != self._number and self._thumbnails:
            self._close()
        self._number = number
        self._thumbnails.append(look.thumbnail)

    def creeps(self) -> bool:
        """Whether the picture goes on changing."""
        if len(self._thumbnails) >= self._part / 2:
            self._close()
        later = self._steps[len(self._steps) // 2 :]
        return bool(later) and float(np.quantile(later, _QUIETEST, method="nearest")) > _CREEP

    def _close(self) -> None:
        """Take the step from the part before to the one that ends."""
        mean: Thumbnail = np.mean(self._thumbnails, axis=0)
        if self._mean is not None:
            self._steps.append(float(np.abs(mean - self._mean).max()))
        self._mean = mean
        self._thumbnails.clear()
