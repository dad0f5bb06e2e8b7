"""What the statistics say, in a form that every output can print."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


@dataclass(frozen=True)
class Figure:
    """One named number of a segment.

    `value` is a number, or text: a pattern, or ``not measurable: <reason>``.
    """

    key: str
    value: int | float | str
    unit: str
    """Empty where the value counts things or is text."""
    definition: str

    @property
    def is_number(self) -> bool:
        """False where the value is text."""
        return not isinstance(self.value, str)


class EventKind(StrEnum):
    """What happened."""

    STALL = "stall"
    """A late frame that missed at least two refreshes."""
    TEAR = "tear"
    """A flip in the middle of a refresh."""
    STILL_SPAN = "still span"
    """One frame longer than the still limit."""
    NEW_PART = "new part"
    """A picture without a predecessor to compare with, inside the capture."""
    CAPTURE_FAULT = "capture fault"
    """Refreshes that the recording lost."""


@dataclass(frozen=True)
class Event:
    """Something that happened at a time in the capture."""

    kind: EventKind
    start_s: float
    end_s: float
    refresh: int
    """Refresh in which it starts."""
    size: float
    unit: str
    """What `size` counts: missed refreshes, a row, milliseconds or refreshes."""
