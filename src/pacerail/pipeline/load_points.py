"""Where a load starts and ends on a capture: at a time, or where something happens near it."""

from __future__ import annotations

from fractions import Fraction
from functools import cached_property
from pathlib import Path

from pacerail.errors import InputError, UsageError
from pacerail.extent import refresh_at
from pacerail.moments.moment import Moment
from pacerail.pipeline.moments import moments_of
from pacerail.pipeline.watcher import Watcher
from pacerail.record import TimingRecord
from pacerail.sheet.loads import LoadPoint

NEAR_S = Fraction(5)
"""How far what happens near a time may lie from it. (Our choice.)"""


class TimedCapture:
    """A measured capture; its moments are looked for when first asked for."""

    def __init__(self, path: Path, record: TimingRecord, watcher: Watcher) -> None:
        self.path, self.record, self._watcher = path, record, watcher

    @cached_property
    def moments(self) -> list[Moment]:
        """All that happens in it."""
        return moments_of(self.path, self.record, watcher=self._watcher)

    def load(self, start: LoadPoint, end: LoadPoint) -> tuple[int, int]:
        """The refreshes in which the clock starts and stops.

        Raises InputError where nothing of the kind happens, UsageError for a time outside
        the capture or a load that does not start before it ends.
        """
        first, last = self._refresh(start), self._refresh(end)
        if first >= last:
            raise UsageError(
                f"load must start before it ends, got refreshes {first} to {last}; "
                "correct its times"
            )
        return first, last

    def _refresh(self, point: LoadPoint) -> int:
        """The refresh on screen at a time, or the nearest at which that kind of thing happens."""
        near = refresh_at(point.near.text, self.record)
        if point.kind is None:
            return near
        reach = NEAR_S * self.record.refresh_hz
        fitting = [
            each.refresh
            for each in self.moments
            if each.kind.value == point.kind and abs(each.refresh - near) <= reach
        ]
        if not fitting:
            raise InputError(
                f"{point.kind} must lie within {NEAR_S} s of {point.near.text}, got none in "
                f"{self.path.name}; list what there is with: pacerail moments"
            )
        return min(fitting, key=lambda refresh: abs(refresh - near))
