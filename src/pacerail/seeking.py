"""Places to start decoding from: a key picture before a moment, or the first picture.

Containers with an index lead to a key picture. A transport stream has none: it is searched
by time stamp, and decoding can only begin at the next key picture after the place found. So
one place may be too late, and then an earlier one is tried.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any, Protocol

# How far back the second place lies, and how much further each one after it; long groups of
# pictures last four seconds (250 pictures at 60 Hz). Our choice.
STEP_S = Fraction(1)
GROWTH = 4


class Searchable(Protocol):
    """A container as the media library opens it for reading."""

    def seek(self, offset: int, *, stream: Any, backward: bool) -> None:
        """Go to a key picture at or before a time stamp. Raises OSError where it cannot."""


class Timed(Protocol):
    """Its stream of pictures."""

    @property
    def start_time(self) -> int | None:
        """Time stamp of the first picture, where it is told."""

    @property
    def time_base(self) -> Fraction | None:
        """Seconds per tick."""


def places_before(video: Timed, tick: int) -> Iterator[int]:
    """Time stamps to seek to, each earlier than the one before, the first picture's last."""
    start = video.start_time or 0
    step = int(STEP_S / Fraction(video.time_base or 1))
    place = tick
    while place > start:
        yield place
        place = tick - step
        step *= GROWTH
    yield start


def seek(container: Searchable, video: Timed, place: int) -> None:
    """Go to a key picture at or before a time stamp, as far as the container can tell.

    Raises OSError where it cannot be searched.
    """
    start = video.start_time or 0
    if place <= start:
        rewind(container, video)
    else:
        container.seek(place, stream=video, backward=True)


def rewind(container: Searchable, video: Timed) -> None:
    """Go to the first picture.

    In a transport stream it is decoded, and so found, at an earlier time than it is shown;
    some other containers refuse to look for a time before their first picture.
    Raises OSError where the container cannot be searched.
    """
    start = video.start_time or 0
    early = start - int(STEP_S / Fraction(video.time_base or 1))
    try:
        container.seek(early, stream=video, backward=True)
    except OSError:
        container.seek(start, stream=video, backward=True)
