"""Timecode: labels ``hh:mm:ss:ff`` for refreshes, and drop-frame counting.

Counting as in SMPTE ST 12-1 (read second-hand: OpenTimelineIO's tests hold the same
tables). At 29.97 and 59.94 Hz a second of labels is longer than a second of time;
drop-frame counting leaves out the first 2 labels (4 at 59.94 Hz) of each minute that is
not divisible by ten, which holds the labels within 86 ms of the clock over a day.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Self

from pacerail.errors import UsageError

_LABEL = re.compile(r"(?P<h>\d{1,2}):(?P<m>\d\d):(?P<s>\d\d)(?P<drop>[:;])(?P<f>\d{2,3})")


@dataclass(frozen=True)
class Timecode:
    """A way of counting, and the count that the first picture of a capture carries."""

    refresh_hz: Fraction
    drop: bool = False
    """True for drop-frame counting, written with a semicolon before the last number."""
    start: int = 0
    """Refreshes counted from label 0 to the first picture."""

    @classmethod
    def starting_at(cls, label: str, refresh_hz: Fraction) -> Self:
        """The timecode of a capture whose first picture has that label.

        Raises UsageError when the label is none, or the count never uses it.
        """
        if not is_timecode(label):
            raise UsageError(
                f"timecode must be hh:mm:ss:ff, got {label!r}; "
                "put a semicolon before ff for drop-frame"
            )
        return cls(refresh_hz, ";" in label, timecode_to_refresh(label, refresh_hz))

    def label(self, refresh: int) -> str:
        """The label of a refresh of the capture."""
        return _label(self.start + refresh, self._base, self._dropped, self.drop)

    @cached_property
    def _base(self) -> int:
        return round(self.refresh_hz)

    @cached_property
    def _dropped(self) -> int:
        return dropped_labels(self.refresh_hz) if self.drop else 0


def is_timecode(text: str) -> bool:
    """True when the text has the form ``hh:mm:ss:ff`` or ``hh:mm:ss;ff``."""
    return _LABEL.fullmatch(text) is not None


def timecode_to_refresh(label: str, refresh_hz: Fraction) -> int:
    """Refreshes from label 0 to a label, of which `is_timecode` must be true.

    Raises UsageError for a label that the count never uses.
    """
    match = _LABEL.fullmatch(label)
    if match is None:
        raise ValueError(f"timecode must be hh:mm:ss:ff, got {label!r}")
    hours, minutes, seconds, number = (int(match[part]) for part in "hmsf")
    base = round(refresh_hz)
    if minutes > 59 or seconds > 59 or number >= base:
        raise UsageError(
            f"timecode must count 0 to {base - 1} within a second at {float(refresh_hz):g} Hz, "
            f"got {label}; give a label the count uses"
        )
    minutes += 60 * hours
    total = (minutes * 60 + seconds) * base + number
    if match["drop"] == ":":
        return total
    dropped = dropped_labels(refresh_hz)
    if seconds == 0 and number < dropped and minutes % 10:
        raise UsageError(
            f"timecode must be a label that drop-frame counting uses, got {label}; "
            f"the next one is {label[:-2]}{dropped:02}"
        )
    return total - dropped * (minutes - minutes // 10)


def refresh_to_timecode(refresh: int, refresh_hz: Fraction, *, drop: bool) -> str:
    """Label of the refresh that comes so many after label 0; starts again after 24 hours.

    Raises UsageError for drop-frame counting at a rate that has none.
    """
    return Timecode(refresh_hz, drop).label(refresh)


def dropped_labels(refresh_hz: Fraction) -> int:
    """Labels that drop-frame timecode leaves out per dropping minute.

    Raises UsageError for a rate that has no drop-frame count.
    """
    if refresh_hz not in (Fraction(30000, 1001), Fraction(60000, 1001)):
        raise UsageError(
            f"drop-frame timecode must go with 29.97 or 59.94 Hz, got {float(refresh_hz):g} Hz; "
            "write the last separator as a colon"
        )
    return 2 * round(refresh_hz) // 30


def _label(refresh: int, base: int, dropped: int, drop: bool) -> str:
    """Label of a refresh at `base` labels a second, `dropped` of them left out a minute."""
    if dropped:
        minute = 60 * base - dropped
        tens, rest = divmod(refresh, 10 * minute + dropped)
        refresh += dropped * (9 * tens + max(rest - dropped, 0) // minute)
    seconds, number = divmod(refresh % (24 * 3600 * base), base)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours:02}:{minutes:02}:{seconds:02}{';' if drop else ':'}{number:02}"
