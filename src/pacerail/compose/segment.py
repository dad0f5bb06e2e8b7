"""A segment of a capture, and what is read from it: pictures and audio packets."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

import av

LONGEST_CAPTURE = 1 << 48  # ticks; over eight hours even with one tick per nanosecond


@dataclass(frozen=True)
class Shot:
    """One decoded picture and the moments at which it is to be written."""

    frame: av.VideoFrame
    refresh: int
    pts: tuple[int, ...]
    """In ticks of the output's time base; empty when the output rate leaves it out."""
    duration: int
    """Ticks that each of them lasts, as far as it is known; 0 where not."""


@dataclass(frozen=True)
class AudioPacket:
    """A packet of the n-th copied audio stream, its time stamps counted from the segment."""

    packet: av.Packet[av.AudioStream]
    stream: int


@dataclass(frozen=True)
class Segment:
    """Which part of a capture is read: refreshes [first, end), to the end if None."""

    refresh_of: Callable[[int], int]
    """Refresh of a presentation time stamp; never falls as the time stamp grows."""
    first_refresh: int = 0
    end_refresh: int | None = None
    from_zero: bool = False
    """Count time stamps from the first picture; else they stay as they are."""

    def end_s(self, video: av.VideoStream) -> Fraction | None:
        """Time in the capture at which the segment ends; None at the end of the capture."""
        if self.end_refresh is None:
            return None
        ticks = first_tick(self.refresh_of, self.end_refresh, video.start_time or 0)
        return None if ticks is None else ticks * Fraction(video.time_base or 0)


Item = Shot | AudioPacket


def first_tick(refresh_of: Callable[[int], int], refresh: int, start: int) -> int | None:
    """Smallest time stamp from `start` on that belongs to that refresh or a later one.

    None when there is none, because the capture ends before.
    """
    span = 1
    while refresh_of(start + span) < refresh:
        span *= 2
        if span > LONGEST_CAPTURE:
            return None
    low, high = start - 1, start + span
    while high - low > 1:
        middle = (low + high) // 2
        if refresh_of(middle) < refresh:
            low = middle
        else:
            high = middle
    return high
