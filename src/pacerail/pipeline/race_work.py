"""The kind of work of a build that lets two loads race in one clip."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from pacerail.draw.style import Style
from pacerail.pipeline.ingredients import Take
from pacerail.pipeline.watcher import Watcher
from pacerail.sheet.loads import LoadPoint


@dataclass(frozen=True)
class RaceSide:
    """A platform of a race, and its load as written."""

    take: Take
    record: str
    """Where its timing record lies in the folder of the build."""
    label: str
    start: LoadPoint
    end: LoadPoint


@dataclass(frozen=True)
class RaceWork:
    """The clip of a race."""

    sides: tuple[RaceSide, RaceSide]
    style: Style
    layout: str
    canvas: tuple[int, int]
    rate: Fraction | None
    decimals: int
    quality: str

    def make(self, folder: Path, output: Path, watcher: Watcher) -> None:
        """Write the clip."""
        from pacerail.pipeline.joint import JointOutput, JointSide
        from pacerail.pipeline.joint_look import JointLook
        from pacerail.pipeline.load_points import TimedCapture
        from pacerail.pipeline.race import Race, write_race
        from pacerail.record import load_record

        captures: dict[str, TimedCapture] = {}
        sides = []
        for side in self.sides:
            if side.record not in captures:
                record = load_record(folder / side.record)
                captures[side.record] = TimedCapture(side.take.path, record, watcher)
            capture = captures[side.record]
            first, end = capture.load(side.start, side.end)
            sides.append(JointSide(capture.path, capture.record, side.label, first, end + 1))
        look = JointLook(
            self.style, layout=self.layout, canvas=self.canvas, rate=self.rate, audio="none"
        )
        race = Race((sides[0], sides[1]), look, self.decimals)
        write_race(race, JointOutput(output, quality=self.quality, overwrite=True), watcher)
