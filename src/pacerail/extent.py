"""Times, as written, found on a capture: by its refresh rate, length and start timecode."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Protocol

from pacerail.errors import UsageError
from pacerail.timebase import format_clock, parse_time
from pacerail.timecode import is_timecode


class Extent(Protocol):
    """What times, as written, are counted on: a record, or what a capture promises."""

    @property
    def name(self) -> str:
        """File name of the capture."""

    @property
    def refresh_hz(self) -> Fraction:
        """Refreshes per second."""

    @property
    def refreshes(self) -> int:
        """Number of refreshes."""

    @property
    def start_timecode(self) -> str | None:
        """Timecode of the first picture, where the capture carries one."""


@dataclass(frozen=True)
class Prospect:
    """What a capture promises before it is measured."""

    name: str
    refresh_hz: Fraction
    refreshes: int
    """About how many, by the header; very many where it does not say."""
    start_timecode: str | None


def length_in_words(extent: Extent) -> str:
    """How long which capture is, as advice for one who named a time beyond its end."""
    return f"{extent.name} is {format_clock(float(extent.refreshes / extent.refresh_hz))} long"


def seconds_at(text: str, extent: Extent) -> Fraction:
    """Seconds from the first picture; timecode counts on from that of the first picture.

    Raises UsageError when that is no time, or timecode before that of the first picture.
    """
    seconds = parse_time(text, extent.refresh_hz)
    if extent.start_timecode is None or not is_timecode(text):
        return seconds
    seconds -= parse_time(extent.start_timecode, extent.refresh_hz)
    if seconds < 0:
        raise UsageError(
            f"timecode must not lie before that of the first picture, {extent.start_timecode}, "
            f"got {text}; write the timecode that the capture carries, or seconds"
        )
    return seconds


def refresh_at(text: str, extent: Extent) -> int:
    """The refresh on screen at a time, as written.

    Raises UsageError when that is no time, or lies outside the capture.
    """
    refresh = int(seconds_at(text, extent) * extent.refresh_hz)
    if refresh >= extent.refreshes:
        raise UsageError(
            f"moment must lie inside the capture, got {text}; {length_in_words(extent)}"
        )
    return refresh
