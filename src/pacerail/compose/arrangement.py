"""Where the pictures of two platforms lie on one canvas, at every moment of a clip."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from pacerail.compose.rectangle import Rectangle, around, even

SWEEP = (0.1, 0.9)
"""Shares of the picture between which a moving line goes."""


@dataclass(frozen=True)
class Placement:
    """How a picture comes onto the canvas: scaled to a size, of which a part is shown."""

    size: tuple[int, int]
    """Width and height of the whole picture after scaling, as it is seen."""
    source_x: int
    source_y: int
    target: Rectangle
    """Where on the canvas; as large as the part that is shown."""

    def within(self, window: Rectangle) -> Placement:
        """The same picture in the same place, as far as a window of the canvas shows it."""
        target = self.target.meet(window)
        return Placement(
            self.size,
            self.source_x + target.x - self.target.x,
            self.source_y + target.y - self.target.y,
            target,
        )


@dataclass(frozen=True)
class Divider:
    """The line between the two platforms of a split picture."""

    share: Fraction = Fraction(1, 2)
    """Of the picture's width, where the line stands; unless it moves."""
    sweep_s: Fraction | None = None
    """Seconds in which it goes to and fro once, slowing down at the ends; None to stand."""

    def share_at(self, moment_s: Fraction) -> float:
        """Where it is, as a share of the picture's width; a moving one starts at its middle."""
        if self.sweep_s is None:
            return float(self.share)
        low, high = SWEEP
        turn = math.tau * float(moment_s % self.sweep_s / self.sweep_s)
        return (low + high) / 2 - (high - low) / 2 * math.sin(turn)


@dataclass(frozen=True)
class Arrangement:
    """Where the pictures lie, in the order in which they are painted."""

    canvas: tuple[int, int]
    placements: tuple[Placement | None, Placement | None]
    """Of the first and the second platform; None where no picture is shown."""
    rail_moves: tuple[tuple[int, int], ...]
    """Columns to the right and rows down by which the graphics of each cell move, to where
    the pictures want them."""
    divider: Divider | None = None

    @property
    def placed(self) -> list[Placement]:
        """Of the pictures that are shown."""
        return [placement for placement in self.placements if placement is not None]

    def shown(self, moment_s: Fraction) -> Iterator[tuple[int, Placement]]:
        """Which platform is painted where at a moment of the clip; windows may be empty."""
        column = self.divider_column(moment_s)
        width, height = self.canvas
        whole = Rectangle(0, 0, width, height)
        windows = [whole, whole]
        if column is not None:
            windows = [Rectangle(0, 0, column, height), Rectangle(column, 0, width, height)]
        for side, placement in enumerate(self.placements):
            if placement is not None:
                yield side, placement.within(windows[side])

    def divider_column(self, moment_s: Fraction) -> int | None:
        """First column of the second platform's part of a split picture."""
        if self.divider is None:
            return None
        whole = around([placement.target for placement in self.placed])
        return whole.x + even(whole.width * self.divider.share_at(moment_s))
