"""Exact time: rates, the refresh grid, and how a person writes a moment.

Time is a Fraction of seconds counted from the first picture of a capture, or an
integer number of refreshes or ticks. Floats belong to statistics and drawing.
"""

from __future__ import annotations

import re
from fractions import Fraction

from pacerail.errors import UsageError
from pacerail.timecode import is_timecode, timecode_to_refresh

# Whole rates and their 1000/1001 relatives (ITU-R BT.709 and BT.2020 list them;
# 90 to 240 Hz are common practice of displays, no published source).
STANDARD_RATES = tuple(
    sorted(
        {Fraction(rate) for rate in (24, 25, 30, 48, 50, 60, 72, 75, 90, 100, 120, 144, 165, 240)}
        | {Fraction(rate * 1000, 1001) for rate in (24, 30, 48, 60, 120, 240)}
    )
)

USUAL_RATE = Fraction(60)
"""Hz, on which a length that is written as timecode is counted."""

_LENGTH = re.compile(r"(\d+(?:\.\d*)?|\.\d+)\s*(ms|s)")
_CLOCK = re.compile(r"(?:(?P<h>\d+):)?(?P<m>\d{1,2}):(?P<s>\d{1,2}(?:\.\d+)?)")


def parse_rate(text: str) -> Fraction:
    """Rate in 1/s from ``60``, ``59.94`` or ``60000/1001``.

    A decimal that is a rounded form of a 1000/1001 rate is read as that rate.
    Raises UsageError when it is not a positive number.
    """
    try:
        rate = Fraction(text)
    except (ValueError, ZeroDivisionError):
        rate = Fraction(0)
    if rate <= 0:
        raise UsageError(
            f"rate must be a positive number, got {text!r}; write 60, 59.94 or 60000/1001"
        )
    if "." in text:
        digits = len(text.split(".")[1])
        for standard in STANDARD_RATES:
            if standard.denominator == 1001 and round(float(standard), digits) == float(rate):
                return standard
    return rate


def snap_rate(rate: Fraction, tolerance: Fraction = Fraction(1, 2500)) -> Fraction:
    """The standard rate within that relative tolerance, or the rate itself.

    59.94 and 60 lie 1/1001 apart, so the tolerance must stay below half of that.
    """
    nearest = min(STANDARD_RATES, key=lambda standard: abs(standard - rate))
    return nearest if abs(nearest - rate) <= tolerance * nearest else rate


def ticks_to_refresh(pts: int, first_pts: int, time_base: Fraction, refresh_hz: Fraction) -> int:
    """Index on the refresh grid of a time stamp in ticks; halves round up."""
    return int(((pts - first_pts) * time_base * refresh_hz + Fraction(1, 2)) // 1)


def seconds_to_refresh(seconds: Fraction, refresh_hz: Fraction) -> int:
    """First refresh that starts at or after that moment."""
    return -int(-(seconds * refresh_hz) // 1)


def parse_time(text: str, refresh_hz: Fraction) -> Fraction:
    """Seconds from ``12.5``, ``mm:ss.mmm``, ``hh:mm:ss.mmm`` or timecode ``hh:mm:ss:ff``.

    ``hh:mm:ss;ff`` is drop-frame timecode, for 29.97 and 59.94 Hz only.
    Raises UsageError on anything else.
    """
    text = text.strip()
    if re.fullmatch(r"\d+(\.\d*)?|\.\d+", text):
        return Fraction(text)
    if is_timecode(text):
        return timecode_to_refresh(text, refresh_hz) / refresh_hz
    match = _CLOCK.fullmatch(text)
    if match and int(match["m"]) < 60 and Fraction(match["s"]) < 60:
        return int(match["h"] or 0) * 3600 + int(match["m"]) * 60 + Fraction(match["s"])
    raise UsageError(
        f"time must be seconds, mm:ss.mmm, hh:mm:ss.mmm or hh:mm:ss:ff, got {text!r}; "
        "write for example 83.5, 1:23.500 or 00:01:23:30"
    )


def parse_length(text: str) -> Fraction:
    """Seconds of a length of time from ``0.5s``, ``250ms``, or anything that is a time.

    Raises UsageError on anything else, and on 0.
    """
    match = _LENGTH.fullmatch(text.strip())
    length_s = (
        Fraction(match[1]) / (1000 if match[2] == "ms" else 1)
        if match
        else parse_time(text, USUAL_RATE)
    )
    if length_s <= 0:
        raise UsageError(
            f"length of time must be above 0 s, got {text!r}; write for example 1, 0.5s or 250ms"
        )
    return length_s


def format_clock(seconds: float) -> str:
    """``m:ss.mmm``, or ``h:mm:ss.mmm`` from one hour on."""
    milliseconds = round(seconds * 1000)
    minutes, milliseconds = divmod(milliseconds, 60_000)
    hours, minutes = divmod(minutes, 60)
    tail = f"{milliseconds // 1000:02}.{milliseconds % 1000:03}"
    return f"{hours}:{minutes:02}:{tail}" if hours else f"{minutes}:{tail}"
