"""A moment: something that a person may want to start or stop a clock at."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction


class MomentKind(StrEnum):
    """What happens; ends are exclusive, as libavfilter's detectors have them."""

    CUT = "cut"
    """The first refresh that shows another scene, if only on some of its rows."""
    BLACK_START = "black_start"
    """The first black picture."""
    BLACK_END = "black_end"
    """The first picture that is not black any more."""
    WHITE_START = "white_start"
    WHITE_END = "white_end"
    FADE_START = "fade_start"
    """The first picture that a fade to or from black or white has touched."""
    FADE_END = "fade_end"
    """The first picture at which it has arrived: plain black or white, or in full light."""
    STILL_START = "still_start"
    """The first of the pictures that stay the same."""
    STILL_END = "still_end"
    """The first picture that is another."""
    SOUND_START = "sound_start"
    """The first sample above the floor of silence."""
    SOUND_END = "sound_end"
    """The end of the last one."""


@dataclass(frozen=True)
class Moment:
    """One candidate."""

    time_s: Fraction
    """Seconds from the first picture. That of a picture is when its refresh starts."""
    refresh: int
    """The refresh on screen then."""
    kind: MomentKind


def in_order(moments: Iterable[Moment]) -> list[Moment]:
    """Sorted by time; what happens at one time, in the order of the kinds above."""
    kinds = list(MomentKind)
    return sorted(moments, key=lambda moment: (moment.time_s, kinds.index(moment.kind)))
