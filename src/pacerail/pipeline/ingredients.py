"""What the work of a build starts from: takes, and stretches of them."""

from __future__ import annotations

import json
from dataclasses import dataclass, field, replace
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from pacerail.detect.version import DETECTOR_VERSION
from pacerail.errors import InputError
from pacerail.extent import length_in_words
from pacerail.region import Region
from pacerail.timebase import format_clock, seconds_to_refresh

if TYPE_CHECKING:
    from pacerail.pipeline.passage import Passage


@dataclass(frozen=True)
class Take:
    """One capture of a platform, and how it is measured."""

    path: Path = field(compare=False, repr=False)
    name: str
    """Of the file; figures and markers carry it."""
    fingerprint: str
    refresh_hz: Fraction | None
    watch: Region | None
    ignore: tuple[Region, ...]
    detector: int = DETECTOR_VERSION


@dataclass(frozen=True)
class Stretch:
    """A part of a take, on the clock of its first picture."""

    take: Take
    record: str
    """Where its timing record lies in the folder of the build."""
    label: str
    target_fps: Fraction | None
    start_s: Fraction
    length_s: Fraction
    alignment: str | None = None
    """File of the build whose offset is to be added to the start."""

    @property
    def needs(self) -> tuple[str, ...]:
        """Files of the build that it is read from."""
        return (self.record,) if self.alignment is None else (self.record, self.alignment)

    def passage_in(self, folder: Path) -> Passage:
        """Its refreshes, by its record in the folder of a build.

        Raises InputError when it starts outside the capture.
        """
        from pacerail.pipeline.passage import Passage
        from pacerail.record import load_record

        record = replace(load_record(folder / self.record), target_fps=self.target_fps)
        start_s = self.start_s + self._offset_s(folder)
        first = seconds_to_refresh(start_s, record.refresh_hz)
        end = min(seconds_to_refresh(start_s + self.length_s, record.refresh_hz), record.refreshes)
        if not 0 <= first < end:
            raise InputError(
                f"segment must start inside the capture, got {format_clock(float(start_s))}; "
                f"{length_in_words(record)}"
            )
        return Passage(record, self.label, first, end)

    def _offset_s(self, folder: Path) -> Fraction:
        if self.alignment is None:
            return Fraction(0)
        found = json.loads((folder / self.alignment).read_text("utf-8"))
        return Fraction(str(found["offset_s"]))
