"""The kinds of single values that a sheet holds."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from pacerail.choices import check_interval
from pacerail.region import Region
from pacerail.sheet.schema import Scalar
from pacerail.size import check_canvas, parse_size
from pacerail.timebase import USUAL_RATE, parse_length, parse_rate, parse_time
from pacerail.timecode import is_timecode


@dataclass(frozen=True)
class Moment:
    """A time in a capture as it is written; only the capture can say which refresh it is."""

    text: str


def choice(*words: str) -> Scalar[str]:
    """One of a few words."""

    def parse(value: Any) -> str:
        if value not in words or not isinstance(value, str):
            raise ValueError(value)
        return value

    return Scalar(f"one of {', '.join(words)}", parse, f'"{words[0]}"')


def number(low: float, high: float, example: str) -> Scalar[Fraction]:
    """A number in a range, both ends included."""

    def parse(value: Any) -> Fraction:
        exact = Fraction(_written(value))
        if not low <= exact <= high:
            raise ValueError(value)
        return exact

    return Scalar(f"a number from {low:g} to {high:g}", parse, example)


def whole_number(low: int, high: int) -> Scalar[int]:
    """A whole number in a range, both ends included."""

    def parse(value: Any) -> int:
        if type(value) is not int or not low <= value <= high:
            raise ValueError(value)
        return value

    return Scalar(f"a whole number from {low} to {high}", parse, str(low))


def _text(value: Any) -> str:
    """A text that says something and keeps to one line."""
    if not isinstance(value, str) or not value.strip() or not value.isprintable():
        raise ValueError(value)
    return value


def _file_name(value: Any) -> str:
    """A part of a file name that leads nowhere else and means nothing to a shell."""
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,63}", _text(value)):
        raise ValueError(value)
    return str(value)


def _written(value: Any) -> str:
    """A number as it would be written, or a text as it is."""
    if isinstance(value, bool) or not isinstance(value, (int, float, str)):
        raise TypeError(value)
    return value if isinstance(value, str) else str(value)


def _switch(value: Any) -> bool:
    if not isinstance(value, bool):
        raise TypeError(value)
    return value


def _moment(value: Any) -> Moment:
    text = _written(value)
    if not is_timecode(text):
        parse_time(text, USUAL_RATE)
    return Moment(text)


def _length(value: Any) -> Fraction:
    return parse_length(_written(value))


def _interval(value: Any) -> Fraction:
    interval_s = _length(value)
    check_interval(interval_s)
    return interval_s


def _canvas(value: Any) -> tuple[int, int]:
    size = parse_size(_text(value))
    check_canvas(size)
    return size


def _region(value: Any) -> Region:
    if not isinstance(value, list):
        raise TypeError(value)
    x, y, width, height = (float(_written(each)) for each in value)
    return Region(x, y, width, height)


def _edge(value: Any) -> tuple[Fraction, ...]:
    if not isinstance(value, list):
        raise TypeError(value)
    x0, y0, x1, y1 = (Fraction(_written(each)) for each in value)
    return x0, y0, x1, y1


TEXT = Scalar("a text on one line", _text, '"Merle"')
FILE_NAME = Scalar("a name of letters, digits, _, - and .", _file_name, '"dusk"')
SWITCH = Scalar("true or false", _switch, "true")
RATE = Scalar("a rate per second", lambda value: parse_rate(_written(value)), "60")
CANVAS = Scalar("a size in pixels", _canvas, '"1920x1080"')
MOMENT = Scalar("a time", _moment, '"1:23.5"')
LENGTH = Scalar("a length of time above 0", _length, '"3.5"')
INTERVAL = Scalar(LENGTH.words, _interval, '"0.5"')
REGION = Scalar("a region [x, y, width, height]", _region, "[0, 0, 1, 0.9]")
EDGE = Scalar("both ends of an edge [x0, y0, x1, y1]", _edge, "[300, 468, 620, 506]")
