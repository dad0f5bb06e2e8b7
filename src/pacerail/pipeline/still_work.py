"""The kind of work of a build that shows one moment as a picture."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from pacerail.draw.style import Style
from pacerail.pipeline.ingredients import Take
from pacerail.pipeline.watcher import Watcher
from pacerail.region import Region


@dataclass(frozen=True)
class StillSide:
    """A platform of a still, and its moment as written."""

    take: Take
    label: str
    moment: str


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
        from pacerail.pipeline.closeups import close_up

        look = PageLook(
            self.style, self.arrangement, self.regions, self.scale, self.filter_, self.divider
        )
        sides = [
            close_up(
                side.take.path,
                side.moment,
                side.label,
                watcher,
                refresh_hz=side.take.refresh_hz,
            )
            for side in self.sides
        ]
        write_page(sides, look, output, overwrite=True)
