"""What the statistics say, in a form that every output can print."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

# Bounds nearer to zero than this are zero: the rounding of float sums.
_TIE = 1e-9


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
    """A late frame that stayed long enough to be felt."""
    TEAR = "tear"
    """A flip in the middle of a refresh."""
    STILL_SPAN = "still span"
    """One frame longer than the still limit."""
    CUT = "cut"
    """The flip that brings another scene."""
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
    """Missed refreshes of a stall, row of a tear or a cut, refreshes of everything else."""
    unit: str
    """``refreshes`` or ``row``."""


@dataclass(frozen=True)
class Fact:
    """One thing that may be said about a segment."""

    topic: str
    sentence: str
    """For a speaker: numbers rounded as people say them."""
    exact: str
    """The exact numbers behind it."""
    times_s: tuple[tuple[float, float], ...]
    """Where in the footage it can be checked: start and end of each stretch."""


@dataclass(frozen=True)
class Difference:
    """One figure of two segments side by side."""

    key: str
    unit: str
    definition: str
    first: float | str
    """The figure of the first segment, or why it has none."""
    second: float | str
    difference: float | str
    """First minus second; empty where one of them is text."""
    lower: float | str
    """Lower end of the 95 % interval of the difference; empty where the figure has no
    interval, ``not measurable: <reason>`` where these segments do not give one."""
    upper: float | str

    @property
    def is_told_apart(self) -> bool:
        """True where the whole interval lies on one side of zero."""
        return (
            not isinstance(self.lower, str)
            and not isinstance(self.upper, str)
            and (self.lower > _TIE or self.upper < -_TIE)
        )


@dataclass(frozen=True)
class CadenceRun:
    """A stretch of footage that follows one pattern, or none."""

    start_s: float
    end_s: float
    frames: int
    pattern: tuple[int, ...]
    """Holds in refreshes, one period; empty where irregular."""
    lapses: int = 0
    """Frames of the run that fall out of its pattern."""

    @property
    def frame_rate_fps(self) -> float:
        """Frames of the run over its length."""
        return self.frames / (self.end_s - self.start_s)

    @property
    def is_even(self) -> bool:
        """True where all holds are equal."""
        return len(self.pattern) == 1

    @property
    def is_balanced(self) -> bool:
        """True where holds differ by at most one: as even as the display allows."""
        return bool(self.pattern) and max(self.pattern) - min(self.pattern) <= 1


def pattern_text(pattern: tuple[int, ...]) -> str:
    """``2:2``, ``3:2``, ``1:3``: an even pattern is written twice, as the trade does."""
    holds = pattern * 2 if len(pattern) == 1 else pattern
    return ":".join(str(hold) for hold in holds) or "irregular"
