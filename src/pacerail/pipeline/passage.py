"""A segment of one platform's capture, and what a segment of one or two is called."""

from __future__ import annotations

from dataclasses import dataclass

from pacerail.pipeline.tracks import SeriesSettings
from pacerail.record import TimingRecord
from pacerail.stats.frames import frame_series
from pacerail.stats.segment import Segment


@dataclass(frozen=True, eq=False)
class Passage:
    """Refreshes [first_refresh, end_refresh) of a platform."""

    record: TimingRecord
    label: str
    """Name of the platform."""
    first_refresh: int
    end_refresh: int

    @property
    def start_s(self) -> float:
        """Where it begins, seconds from the first picture of the capture."""
        return self.first_refresh / float(self.record.refresh_hz)

    @property
    def end_s(self) -> float:
        """Where it ends."""
        return self.end_refresh / float(self.record.refresh_hz)

    def segment(self, settings: SeriesSettings) -> Segment:
        """What figures are taken of. Raises UsageError for a target that makes no sense."""
        series = frame_series(self.record, target_fps=settings.target_fps)
        return Segment(self.record, series, self.first_refresh, self.end_refresh)


@dataclass(frozen=True, eq=False)
class Episode:
    """A segment as an edit has it: what one platform shows, or two beside each other."""

    name: str
    """Empty where it needs none, being the only one."""
    passages: tuple[Passage] | tuple[Passage, Passage]
