"""What a readout says at a moment, as texts, and how wide those texts can get."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pacerail.draw.lettering import DASH
from pacerail.draw.style import Style
from pacerail.draw.track import Track
from pacerail.series import SpanKind

WORDS = {"frame_time": "ms", "late": "late", "torn": "% torn"}
"""What stands behind each detail."""
RATE_WORDS = ("fps", "still", "ended")
"""What stands behind the frame rate; behind its dash where nothing moves, or no more."""

# Spans that start with a refresh count as on screen in it, whatever the rounding.
_ROUNDING_S = 5e-7


@dataclass(frozen=True)
class Reading:
    """The texts of one readout; equal readings look the same."""

    frame_rate: str
    rate_word: str
    details: tuple[str, ...]
    """Values in the order of the style's `show`."""


class Reader:
    """Reads a track's numbers; each has as many digits before the point as its largest value.

    A number that is not measurable is a dash for each of those digits.
    """

    def __init__(self, track: Track, style: Style) -> None:
        self._track = track
        self._show = style.readout.show
        self._decimals = style.readout.frame_rate_decimals
        self._rate_digits = _digits(track.frame_rate_fps, least=2)
        self._time_digits = _digits(track.frame_time_ms, least=2)
        self._torn_digits = _digits(100.0 * track.torn_share, least=1)
        self._late_digits = _digits(track.late_frames.astype(np.float64), least=1)

    @property
    def widest(self) -> Reading:
        """A reading at least as wide as any other of the track."""
        values = {
            "frame_time": _number(math.nan, 1, self._time_digits),
            "late": _number(math.nan, 0, self._late_digits),
            "torn": _number(math.nan, 1, self._torn_digits),
        }
        return self._compose(math.nan, "still", values)

    def read(self, moment_s: float) -> Reading:
        """The texts for a moment in seconds of this track; dashes outside of it."""
        track = self._track
        refresh = math.floor((moment_s + _ROUNDING_S) * float(track.series.refresh_hz))
        if not 0 <= refresh < track.series.refreshes:
            widest = self.widest
            return replace(widest, rate_word="fps" if refresh < 0 else "ended")
        rate = track.frame_rate_fps[refresh]
        values = {
            "frame_time": _number(track.frame_time_ms[refresh], 1, self._time_digits),
            "late": str(int(track.late_frames[refresh])),
            "torn": _number(100.0 * track.torn_share[refresh], 1, self._torn_digits),
        }
        is_still = math.isnan(rate) and self._kind(moment_s) == SpanKind.STILL
        return self._compose(rate, "still" if is_still else "fps", values)

    def _compose(self, rate: float, word: str, values: dict[str, str]) -> Reading:
        details = tuple(values[name] for name in self._show)
        return Reading(_number(rate, self._decimals, self._rate_digits), word, details)

    def _kind(self, moment_s: float) -> int:
        series = self._track.series
        after = np.searchsorted(series.start_s, moment_s + _ROUNDING_S, side="right")
        return int(series.kind[after - 1])


def _number(value: float, decimals: int, digits: int) -> str:
    if math.isnan(value):
        return DASH * digits + ("." + DASH * decimals if decimals else "")
    return f"{value:.{decimals}f}"


def _digits(values: NDArray[np.float64], least: int) -> int:
    """Digits before the point of the largest value once rounded."""
    measurable = values[~np.isnan(values)]
    largest = float(measurable.max(initial=0.0))
    return max(len(str(int(largest + 0.5))), least)
