"""Where everything lies on a canvas: plain rectangles that `arrange` makes from a style.

The rail is divided without rest or overlap into readout panels, the lane through which the
strip moves, a gutter with the labels of the rules and what else a style asks for, so that
its translucent plate has one thickness everywhere. All rectangles are even.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from pacerail.draw.canvas import Box
from pacerail.draw.lane import LaneLook
from pacerail.draw.scale import even_up
from pacerail.draw.side import Side
from pacerail.patch import Image


@dataclass(frozen=True)
class Panel:
    """A part of the plate and the box inside it, in the panel's own pixels, for its content."""

    box: Box
    content: Box


@dataclass(frozen=True)
class Bands:
    """What lies across the lane, counted outward from the axis, in pixels."""

    look: LaneLook
    rate_base: int
    """Where the rolling-frame-rate lane begins."""
    rate_height: int
    """0 where there is none."""
    padding: int
    """Plate beyond everything else."""

    @property
    def breadth(self) -> int:
        """Room that one track takes."""
        return even_up(self.rate_base + self.rate_height)

    @property
    def axis_line(self) -> int:
        """Thickness of the axis."""
        return even_up(self.look.line)


@dataclass(frozen=True)
class Layout:
    """Rectangles on the canvas in pixels; see the module for how they fit together."""

    rail: Box
    panels: tuple[Panel, ...]
    """Readout of each track."""
    lane: Box
    gutter: Box
    margin: Box | None
    """Plain plate before the lane, where no readout is."""
    minimap: Panel | None
    """Map of the whole segment, under everything else."""
    flow: Literal["right", "up"]
    axis: int
    """Place of the axis across the lane, from the lane's top or left."""
    is_turned: bool
    """A single track hangs from the axis, as tiles do that reach in from the right edge."""
    needle: int
    """Pixels along the lane that are past."""
    bands: Bands

    @property
    def along(self) -> int:
        """Length of the lane in the direction of time."""
        return self.lane.width if self.flow == "right" else self.lane.height

    def sides(self, start: int, length: int) -> tuple[Side, ...]:
        """The sides of the axis, one per track, on an image of `length` strip pixels."""
        line = self.bands.axis_line
        # Outward is up or right on one side of the axis line, down or left on the other.
        positive, negative = (line, 0) if self.flow == "up" else (0, line)
        sides = (
            Side(self.flow, 1, start, length, self.axis + positive),
            Side(self.flow, -1, start, length, self.axis + negative),
        )
        return sides[::-1][:1] if self.is_turned else sides[: len(self.panels)]

    def axis_box(self, length: int) -> Box:
        """The axis line on an image of `length` strip pixels."""
        line = self.bands.axis_line
        if self.flow == "right":
            return Box(0, self.axis, length, line)
        return Box(self.axis, 0, line, length)

    def needle_corner(self, needle: Image) -> tuple[int, int]:
        """Where the image of the needle goes, centred on now."""
        rows, columns, _ = needle.rgba.shape
        if self.flow == "right":
            return self.lane.x + self.needle - columns // 2, self.lane.y
        return self.lane.x, self.lane.bottom - self.needle - rows // 2
