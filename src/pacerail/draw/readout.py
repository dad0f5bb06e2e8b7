"""The readout: what the numbers say at a moment, and how they are set so that none jumps."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from pacerail.draw.canvas import Box, Canvas
from pacerail.draw.lettering import CAP_HEIGHT, DASH, Label, fit_label, text_width
from pacerail.draw.style import Style
from pacerail.draw.track import Track
from pacerail.series import SpanKind

_WORDS = {"frame_time": "ms", "late": "late", "torn": "% torn"}
_RATE_WORDS = ("fps", "still")


@dataclass(frozen=True)
class Reading:
    """The texts of one readout; equal readings look the same."""

    frame_rate: str
    rate_word: str
    """``fps``, or ``still`` where nothing moves."""
    details: tuple[str, ...]
    """Values in the order of the style's `show`."""


class Readout:
    """Sets the numbers of one track: cells are as wide as the track's largest values need.

    unit : pixels of the canvas per pixel of the design.
    """

    def __init__(self, track: Track, style: Style, unit: float) -> None:
        self._track = track
        self._style = style
        self._decimals = style.readout.frame_rate_decimals
        self._rate_digits = _digits(track.frame_rate_fps, least=2)
        self._time_digits = _digits(track.frame_time_ms, least=2)
        sizes = style.type
        self._label_size = sizes.label * unit
        self._rate_size = sizes.frame_rate * unit
        self._unit_size = sizes.unit * unit
        self._detail_size = sizes.detail * unit
        self._space = 0.28 * self._unit_size
        self._gutter = 24 * unit
        self._widest = self._widest_reading()
        self._rate_width = text_width(self._widest.frame_rate, self._rate_size, "SemiBold")
        words = max(text_width(word, self._unit_size, "Medium") for word in _RATE_WORDS)
        self._main_width = max(self._rate_width + self._space + words, style.readout.width * unit)
        self._value_width = max(
            (text_width(value, self._detail_size, "SemiBold") for value in self._widest.details),
            default=0.0,
        )
        self._word_width = max(
            (text_width(_WORDS[name], self._detail_size, "Medium") for name in style.readout.show),
            default=0.0,
        )
        self._label_cap = CAP_HEIGHT * self._label_size
        self._rate_cap = CAP_HEIGHT * self._rate_size
        self._line = 1.3 * self._detail_size

    @property
    def _detail_width(self) -> float:
        if not self._style.readout.show:
            return 0.0
        return self._value_width + self._space + self._word_width

    @property
    def abreast_size(self) -> tuple[float, float]:
        """Width and height in pixels with the details at the right of the frame rate."""
        gutter = self._gutter if self._style.readout.show else 0.0
        lines = len(self._style.readout.show) - 1
        height = max(
            self._label_cap + 0.55 * self._label_size + self._rate_cap,
            self._label_cap + lines * 1.15 * self._detail_size,
        )
        return self._main_width + gutter + self._detail_width, height

    @property
    def stacked_size(self) -> tuple[float, float]:
        """Width and height in pixels with the details under the frame rate."""
        lines = len(self._style.readout.show) * self._line
        height = self._label_cap + 0.55 * self._label_size + self._rate_cap + lines
        return max(self._main_width, self._detail_width), height

    def reading(self, refresh: int) -> Reading:
        """The texts for a refresh of this track."""
        track = self._track
        rate = track.frame_rate_fps[refresh]
        moment = refresh / float(track.series.refresh_hz)
        # Half a microsecond: spans that start with this refresh count, whatever the rounding.
        span = int(np.searchsorted(track.series.start_s, moment + 5e-7, side="right")) - 1
        still = track.series.kind[span] == SpanKind.STILL
        frame_time = track.frame_time_ms[refresh]
        torn = track.torn_share[refresh]
        values = {
            "frame_time": _number(frame_time, 1, self._time_digits),
            "late": str(int(track.late_frames[refresh])),
            "torn": _number(100.0 * torn, 1, 1),
        }
        return Reading(
            _number(rate, self._decimals, self._rate_digits),
            "still" if still and math.isnan(rate) else "fps",
            tuple(values[name] for name in self._style.readout.show),
        )

    def fitted_label(self, width: float, *, stacked: bool) -> Label:
        """The track's label, fitted to its column in a readout of that many pixels."""
        if not stacked and self._style.readout.show:
            width -= self._gutter + self._detail_width
        return fit_label(self._track.label, self._label_size, "Medium", width)

    def draw_abreast(self, canvas: Canvas, box: Box, reading: Reading, label: Label) -> None:
        """Label over frame rate at the left of the box, details at its right edge.

        Capitals of the label touch the top of the box, the frame rate stands on its foot.
        """
        self._draw_main(canvas, box, box.bottom, reading, label)
        count = len(reading.details)
        top, foot = box.y + self._label_cap, float(box.bottom)
        for row, value in enumerate(reading.details):
            share = 1.0 if count == 1 else row / (count - 1)
            self._draw_detail(
                canvas, box.right - self._word_width, top + share * (foot - top), row, value
            )

    def draw_stacked(self, canvas: Canvas, box: Box, reading: Reading, label: Label) -> None:
        """Label, frame rate and details under one another from the top of the box."""
        foot = box.y + self._label_cap + 0.55 * self._label_size + self._rate_cap
        self._draw_main(canvas, box, foot, reading, label)
        x = box.x + self._value_width + self._space
        for row, value in enumerate(reading.details):
            self._draw_detail(canvas, x, foot + (row + 1) * self._line, row, value)

    def _draw_main(
        self, canvas: Canvas, box: Box, foot: float, reading: Reading, label: Label
    ) -> None:
        colours = self._style.colours
        canvas.label(label, box.x, box.y + self._label_cap, colours.quiet)
        end = box.x + self._rate_width
        canvas.text(
            reading.frame_rate, end, foot, self._rate_size, colours.text, weight="SemiBold", align=1
        )
        canvas.text(reading.rate_word, end + self._space, foot, self._unit_size, colours.quiet)

    def _draw_detail(
        self, canvas: Canvas, word_x: float, baseline: float, row: int, value: str
    ) -> None:
        colours, size = self._style.colours, self._detail_size
        end = word_x - self._space
        canvas.text(value, end, baseline, size, colours.text, weight="SemiBold", align=1)
        word = _WORDS[self._style.readout.show[row]]
        canvas.text(word, word_x, baseline, size, colours.quiet)

    def _widest_reading(self) -> Reading:
        share = 100.0 * _largest(self._track.torn_share)
        values = {
            "frame_time": _number(math.nan, 1, self._time_digits),
            "late": DASH * len(str(int(self._track.late_frames.max(initial=0)))),
            "torn": _number(math.nan, 1, _digits(np.array([share]), least=1)),
        }
        return Reading(
            _number(math.nan, self._decimals, self._rate_digits),
            "still",
            tuple(values[name] for name in self._style.readout.show),
        )


def _number(value: float, decimals: int, digits: int) -> str:
    """A rounded value, or a dash for each of its digits where it is not measurable."""
    if math.isnan(value):
        return DASH * digits + ("." + DASH * decimals if decimals else "")
    return f"{value:.{decimals}f}"


def _digits(values: np.ndarray, least: int) -> int:
    """Digits before the point of the largest value once rounded."""
    return max(len(str(int(_largest(values) + 0.5))), least)


def _largest(values: np.ndarray) -> float:
    measurable = values[~np.isnan(values)]
    return float(measurable.max(initial=0.0))
