"""The kinds of work of a build that show one moment: a page, clips of it, a count of steps."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from pacerail.draw.style import Style
from pacerail.files import atomic_output
from pacerail.pipeline.ingredients import Take
from pacerail.pipeline.watcher import Watcher
from pacerail.region import Region

if TYPE_CHECKING:
    from pacerail.pipeline.closeups import CloseUp


@dataclass(frozen=True)
class StillSide:
    """A platform of a still, and its moment as written."""

    take: Take
    record: str
    """Where its timing record lies in the folder of the build."""
    label: str
    moment: str

    def close_up(self, folder: Path, watcher: Watcher) -> CloseUp:
        """Its picture at that moment."""
        from pacerail.pipeline.closeups import close_up
        from pacerail.record import load_record

        record = load_record(folder / self.record)
        return close_up(self.take.path, self.moment, self.label, watcher, record=record)


@dataclass(frozen=True)
class StillWork:
    """A page of stills."""

    sides: tuple[StillSide, ...]
    style: Style
    arrangement: str
    regions: tuple[Region, ...]
    scale: int | None
    filter_: str
    divider: Fraction

    def make(self, folder: Path, output: Path, watcher: Watcher) -> None:
        """Write the page."""
        from pacerail.pipeline.closeup_page import PageLook, write_page

        look = PageLook(
            self.style, self.arrangement, self.regions, self.scale, self.filter_, self.divider
        )
        sides = [side.close_up(folder, watcher) for side in self.sides]
        write_page(sides, look, output, overwrite=True)


@dataclass(frozen=True)
class PushWork:
    """A clip that moves in to a region."""

    side: StillSide
    style: Style
    region: Region
    length_s: Fraction
    rate: Fraction
    filter_: str

    def make(self, folder: Path, output: Path, watcher: Watcher) -> None:
        """Write the clip."""
        from pacerail.pipeline.closeup_clips import write_push

        write_push(
            self.side.close_up(folder, watcher),
            self.style,
            self.region,
            self.length_s,
            self.rate,
            self.filter_,
            output,
            overwrite=True,
            watcher=watcher,
        )


@dataclass(frozen=True)
class AlternateWork:
    """A clip that shows two platforms in turn."""

    sides: tuple[StillSide, StillSide]
    style: Style
    interval_s: Fraction
    length_s: Fraction
    rate: Fraction

    def make(self, folder: Path, output: Path, watcher: Watcher) -> None:
        """Write the clip."""
        from pacerail.pipeline.closeup_clips import write_alternation

        write_alternation(
            [side.close_up(folder, watcher) for side in self.sides],
            self.style,
            self.interval_s,
            self.length_s,
            self.rate,
            output,
            overwrite=True,
            watcher=watcher,
        )


@dataclass(frozen=True)
class StepsWork:
    """Stair steps along an edge."""

    side: StillSide
    style: Style
    edge: tuple[Fraction, ...]
    """Both ends, x before y, in pixels of the capture."""

    def make(self, folder: Path, output: Path, watcher: Watcher) -> None:
        """Draw the edge with its steps and write the count beside it, as JSON."""
        from pacerail.extent import refresh_at
        from pacerail.pipeline.graphic import Graphic
        from pacerail.pipeline.steps import count_steps, step_json, write_steps
        from pacerail.record import load_record

        record = load_record(folder / self.side.record)
        moment_s = refresh_at(self.side.moment, record) / float(record.refresh_hz)
        edge = ",".join(f"{float(each):g}" for each in self.edge)
        found = count_steps(self.side.take.path, moment_s, edge)
        write_steps(found, Graphic(self.style, self.side.label), output, overwrite=True)
        with atomic_output(output.with_suffix(".json"), overwrite=True) as part:
            part.write_text(step_json(found) + "\n", encoding="utf-8")
