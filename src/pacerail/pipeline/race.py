"""Two loads against each other in one clip: they start together and each stands when it is done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import ceil
from pathlib import Path

from pacerail.choices import RACE_LAYOUTS
from pacerail.compose.joint import Clip, Moment
from pacerail.compose.placing import arrange, cells
from pacerail.compose.rectangle import PictureShape, Rectangle, even, safe_area
from pacerail.draw.race import RacePanel, Runner
from pacerail.errors import UsageError
from pacerail.patch import Patch
from pacerail.pipeline.joint import JointOutput, JointSide, write_sides
from pacerail.pipeline.joint_look import JointLook
from pacerail.pipeline.watcher import QUIET, Watcher

HOLD_S = Fraction(2)
"""How long the result stands at the end. (Our choice: time to read both numbers.)"""
DECIMALS = (1, 2)
PANEL_WIDTH = 760
"""Pixels of the design that a panel takes at most. Chosen by eye."""


def check_order(first_refresh: int, stop_refresh: int, capture: Path) -> None:
    """Raise UsageError unless the clock of a load starts before it stops."""
    if stop_refresh <= first_refresh:
        raise UsageError(
            f"load must start before it ends, got refreshes {first_refresh} to {stop_refresh} of "
            f"{capture.name}; correct its times"
        )


@dataclass(frozen=True, eq=False)
class Race:
    """Two platforms, each from the refresh in which its clock starts to that in which it stops.

    Raises UsageError for a load that does not start before it ends, or another layout.
    """

    sides: tuple[JointSide, JointSide]
    """Each ends after the refresh in which its clock stops, which is held."""
    look: JointLook
    decimals: int = 1

    def __post_init__(self) -> None:
        if self.look.layout not in RACE_LAYOUTS:
            raise UsageError(
                f"layout of a race must be one of {', '.join(RACE_LAYOUTS)}, got "
                f"{self.look.layout}; choose one of them"
            )
        for side in self.sides:
            check_order(side.first_refresh, side.end_refresh - 1, side.capture)

    @property
    def runners(self) -> tuple[Runner, Runner]:
        """Label and time of each, with what measuring leaves open."""
        first, second = (
            Runner(
                side.label,
                (side.end_refresh - 1 - side.first_refresh) / side.record.refresh_hz,
                2 / side.record.refresh_hz,  # a refresh at either end
            )
            for side in self.sides
        )
        return first, second

    @cached_property
    def clip(self) -> Clip:
        """The longer load, and time to read the result."""
        rate = self.look.rate or max(side.record.refresh_hz for side in self.sides)
        length_s = max(runner.length_s for runner in self.runners) + HOLD_S
        return Clip(ceil(length_s * rate), rate)


class RaceGraphics:
    """The panels of both platforms, and with them where the pictures go."""

    def __init__(self, race: Race, shapes: Sequence[PictureShape]) -> None:
        look = race.look
        self._clip = race.clip
        parts = cells(look.layout, look.canvas, shapes)
        safe = safe_area(look.canvas)
        rooms = [cell.room.meet(safe) for cell in parts]
        most = PANEL_WIDTH * min(look.canvas) / 1080
        width = even(min(most, *(room.width for room in rooms)))
        self._panels = [
            RacePanel(race.runners, number, look.style, look.canvas, width, race.decimals)
            for number in range(2)
        ]
        rails = [
            Rectangle(room.x, room.bottom - panel.size[1], *panel.size)
            for room, panel in zip(rooms, self._panels, strict=True)
        ]
        self.arrangement = arrange(look.layout, look.canvas, shapes, rails, scales=look.scales)
        """Where the pictures go."""
        self._places = [
            (rail.x + right, rail.y + down)
            for rail, (right, down) in zip(rails, self.arrangement.rail_moves, strict=True)
        ]

    def patches(self, moment: Moment) -> list[Patch]:
        """What to paint, in order, on the picture of a moment."""
        elapsed_s = self._clip.moment_s(moment.picture)
        return [
            patch
            for panel, (x, y) in zip(self._panels, self._places, strict=True)
            for patch in panel.patches(elapsed_s, x, y)
        ]


def write_race(race: Race, output: JointOutput, watcher: Watcher = QUIET) -> None:
    """Write the clip of a race.

    Raises InputError for captures that cannot be drawn on or shown together, UsageError
    for graphics that do not fit the canvas.
    """

    def graphics_on(shapes: Sequence[PictureShape]) -> RaceGraphics:
        return RaceGraphics(race, shapes)

    write_sides(race.sides, race.look.audio, race.clip, graphics_on, output, watcher, dims=False)
