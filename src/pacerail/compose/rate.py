"""Another output rate than the capture's, by exact arithmetic on the refresh grid.

Picture k of the output shows what the display showed at k / rate seconds: the latest
refresh that had started by then. Both ways of saying so below are the same floor and
ceiling of whole numbers and Fractions, so nothing drifts, however long the segment.
"""

from __future__ import annotations

from collections.abc import Generator, Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil

from pacerail.compose.segment import AudioPacket, Item, Shot
from pacerail.errors import UsageError


@dataclass(frozen=True)
class RateChange:
    """From the refresh rate of a capture to the picture rate of the output, both in Hz.

    Raises UsageError when the output rate is not positive.
    """

    refresh_hz: Fraction
    rate: Fraction

    def __post_init__(self) -> None:
        if self.rate <= 0:
            raise UsageError(f"output rate must be positive, got {self.rate}; give for example 60")

    def pictures_before(self, refreshes: int) -> int:
        """Pictures that start before that many refreshes have passed."""
        return ceil(refreshes * self.rate / self.refresh_hz)

    def refresh_shown(self, picture: int) -> int:
        """Refresh that a picture shows, both counted from 0."""
        return int(picture * self.refresh_hz // self.rate)

    def refreshes(self, first_refresh: int, end_refresh: int) -> Iterator[int]:
        """The refresh that each output picture of [first_refresh, end_refresh) shows."""
        for picture in range(self.pictures_before(end_refresh - first_refresh)):
            yield first_refresh + self.refresh_shown(picture)


def change_rate(
    items: Iterable[Item], change: RateChange, end_refresh: int | None
) -> Generator[Item, None, None]:
    """The same items with pictures left out or repeated, their time stamps counted from 0.

    A time stamp is the number of the output picture. A refresh that the recording lost is
    filled with the picture before it, as is the time up to `end_refresh`.
    """
    first: int | None = None
    waiting: Shot | None = None
    for item in items:
        if isinstance(item, AudioPacket):
            yield item
            continue
        if first is None:
            first = item.refresh
        if waiting is not None:
            yield _exposed(waiting, change, first, item.refresh)
        waiting = item
    if waiting is not None and first is not None:
        last = waiting.refresh + 1 if end_refresh is None else end_refresh
        yield _exposed(waiting, change, first, last)


def _exposed(shot: Shot, change: RateChange, first: int, next_refresh: int) -> Shot:
    start = change.pictures_before(shot.refresh - first)
    end = change.pictures_before(next_refresh - first)
    return replace(shot, pts=tuple(range(start, end)), duration=1)
