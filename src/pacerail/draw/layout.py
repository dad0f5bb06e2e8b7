"""Where everything lies on a canvas: plain rectangles from style, size and platforms.

The rail is divided without rest or overlap into readout panels, the lane through which the
strip moves, and a gutter with the labels of the rules, so that its translucent plate has
one thickness everywhere. All rectangles are even and inside the graphics-safe area.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from pacerail.draw.canvas import Box
from pacerail.draw.lane import LaneLook
from pacerail.draw.lettering import CAP_HEIGHT, text_width
from pacerail.draw.readout import Readout
from pacerail.draw.scale import Scale, design_unit, even, even_up
from pacerail.draw.side import Side
from pacerail.draw.style import Style
from pacerail.patch import Image

# EBU R 95: graphics keep this share of the picture clear at every edge.
GRAPHICS_SAFE = 0.05

# A readout lies beside the lane only where the rail is this many times as long as the
# readout; chosen by eye so that a lane shows at least about a second.
NARROWEST = 2.6

LEAST_LENGTH = 560
"""Shortest rail in pixels of the design, whatever share of the canvas a style asks for."""


@dataclass(frozen=True)
class Panel:
    """A part of the plate and the box inside it, in the panel's own pixels, for its content."""

    box: Box
    content: Box


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
    needle: int
    """Pixels along the lane that are past."""
    look: LaneLook
    rate_base: int
    """Distance of the rolling-frame-rate lane from the axis."""
    rate_height: int
    padding: int

    @property
    def along(self) -> int:
        """Length of the lane in the direction of time."""
        return self.lane.width if self.flow == "right" else self.lane.height

    def sides(self, start: int, length: int) -> tuple[Side, ...]:
        """The sides of the axis, one per track, on an image of `length` strip pixels."""
        # The first track stands above the axis line or right of it, the second beyond it.
        line = even_up(self.look.line)
        first = Side(self.flow, 1, start, length, self.axis + (line if self.flow == "up" else 0))
        second = Side(self.flow, -1, start, length, self.axis + (0 if self.flow == "up" else line))
        return (first, second)[: len(self.panels)]

    def axis_box(self, length: int) -> Box:
        """The axis line on an image of `length` strip pixels."""
        line = even_up(self.look.line)
        if self.flow == "right":
            return Box(0, self.axis, length, line)
        return Box(self.axis, 0, line, length)

    def needle_corner(self, needle: Image) -> tuple[int, int]:
        """Where the image of the needle goes, centred on now."""
        rows, columns, _ = needle.rgba.shape
        if self.flow == "right":
            return self.lane.x + self.needle - columns // 2, self.lane.y
        return self.lane.x, self.lane.bottom - self.needle - rows // 2


def safe_area(width: int, height: int) -> Box:
    """The graphics-safe part of a canvas, on even pixels."""
    left, top = even_up(width * GRAPHICS_SAFE), even_up(height * GRAPHICS_SAFE)
    return Box(left, top, (width - 2 * left) // 2 * 2, (height - 2 * top) // 2 * 2)


@dataclass(frozen=True)
class _Parts:
    """What the two directions of flow are put together from."""

    style: Style
    unit: float
    safe: Box
    readouts: Sequence[Readout]
    look: LaneLook
    padding: int
    rate_base: int
    rate_height: int

    @property
    def breadth(self) -> int:
        """Room that one track takes outward from the axis."""
        return even_up(self.rate_base + self.rate_height)

    @property
    def axis_line(self) -> int:
        return even_up(self.look.line)

    @property
    def longest_label(self) -> str:
        return f"{max(self.style.lane.rules_ms, default=0):g} ms"


def lay_out(
    style: Style, width: int, height: int, readouts: Sequence[Readout], scale: Scale
) -> Layout:
    """The layout of one or two tracks on a canvas."""
    unit = design_unit(width, height)
    look = _lane_look(style, unit, scale, paired=len(readouts) == 2)
    padding = even(style.plate.padding * unit)
    rate_height = even(style.lane.rate_height * unit)
    rate_base = look.height + (padding // 2 if rate_height else 0)
    safe = safe_area(width, height)
    parts = _Parts(style, unit, safe, readouts, look, padding, rate_base, rate_height)
    return _lay_along(parts) if style.place.edge in ("bottom", "top") else _lay_upright(parts)


def _lay_along(parts: _Parts) -> Layout:
    """Time runs to the right; readouts lie beside the lane, or above and below it."""
    style, safe, padding = parts.style, parts.safe, parts.padding
    paired = len(parts.readouts) == 2
    rail_width = even(max(style.place.length * safe.width, LEAST_LENGTH * parts.unit))
    rail_width = min(rail_width, safe.width)
    # Numbers keep a little more room from the tiles than from the edge of the plate.
    lane_gap = even(max(padding, 0.8 * style.readout.gutter * parts.unit))
    panel_width = even_up(padding + max(r.width for r in parts.readouts) + lane_gap)
    natural = max(r.height for r in parts.readouts)
    gutter_width = even_up(
        text_width(parts.longest_label, parts.look.detail_size, "Medium") + 1.6 * padding
    )
    beside = (
        style.place.readout == "beside" and rail_width - gutter_width >= NARROWEST * panel_width
    )
    inner = even_up(0.8 * padding)
    breadth = parts.breadth
    if beside:
        breadth = max(breadth, even_up(natural + (inner if paired else 0)))
    lane_height = padding + breadth + parts.axis_line + (breadth if paired else 0) + padding
    axis = padding + breadth
    panel_height = even_up(natural + 1.5 * padding)
    map_height = even(style.lane.minimap_height * parts.unit)
    map_box_height = map_height + padding if map_height else 0
    rail_height = lane_height + (0 if beside else panel_height * len(parts.readouts))
    rail_height += map_box_height
    y = safe.y if style.place.edge == "top" else safe.bottom - rail_height
    x = _aligned(style, safe.x, safe.width, rail_width)
    margin = None
    if beside:
        lane = Box(x + panel_width, y, rail_width - panel_width - gutter_width, lane_height)
        content_width = panel_width - padding - lane_gap
        if paired:
            content_height = even_up(natural)
            foot = lane_height - axis - padding - content_height
            panels: tuple[Panel, ...] = (
                Panel(
                    Box(x, y, panel_width, axis),
                    Box(padding, padding, content_width, content_height),
                ),
                Panel(
                    Box(x, y + axis, panel_width, lane_height - axis),
                    Box(padding, foot, content_width, content_height),
                ),
            )
        else:
            top = axis - max(parts.look.height, even_up(natural))
            content = Box(padding, top, content_width, axis - top)
            panels = (Panel(Box(x, y, panel_width, lane_height), content),)
    else:
        margin = Box(x, y + panel_height, padding, lane_height)
        lane = Box(margin.right, margin.y, rail_width - padding - gutter_width, lane_height)
        content = Box(padding, padding, rail_width - 2 * padding, even(natural))
        panels = (Panel(Box(x, y, rail_width, panel_height), content),)
        if paired:
            below = Box(padding, padding // 2, content.width, content.height)
            panels += (Panel(Box(x, lane.bottom, rail_width, panel_height), below),)
    minimap = None
    if map_height:
        minimap = Panel(
            Box(x, y + rail_height - map_box_height, rail_width, map_box_height),
            Box(padding, 2, rail_width - 2 * padding, map_height - 4),
        )
    return Layout(
        rail=Box(x, y, rail_width, rail_height),
        panels=panels,
        lane=lane,
        gutter=Box(lane.right, lane.y, gutter_width, lane_height),
        margin=margin,
        minimap=minimap,
        flow="right",
        axis=axis,
        needle=even(style.lane.needle * lane.width),
        look=parts.look,
        rate_base=parts.rate_base,
        rate_height=parts.rate_height,
        padding=padding,
    )


def _lay_upright(parts: _Parts) -> Layout:
    """Time runs upward; readouts lie above the lane and, for a second track, below it."""
    style, safe, padding = parts.style, parts.safe, parts.padding
    paired = len(parts.readouts) == 2
    content_width = max(r.width for r in parts.readouts)
    natural = max(r.height for r in parts.readouts)
    # The label of the highest rule is centred on it and must not leave the plate.
    half_label = text_width(parts.longest_label, parts.look.detail_size, "Medium") / 2
    reach = even_up(max(parts.breadth, max(parts.look.rules, default=0) + half_label - padding / 2))
    across = reach * len(parts.readouts) + parts.axis_line
    rail_width = even_up(2 * padding + max(across, content_width))
    rail_height = even(max(style.place.length * safe.height, LEAST_LENGTH * parts.unit))
    rail_height = min(rail_height, safe.height)
    panel_height = even_up(natural + 2 * padding)
    gutter_height = even_up(CAP_HEIGHT * parts.look.detail_size + 1.2 * padding)
    x = safe.x if style.place.edge == "left" else safe.right - rail_width
    y = _aligned(style, safe.y, safe.height, rail_height)
    content = Box(padding, padding, rail_width - 2 * padding, even_up(natural))
    panels: tuple[Panel, ...] = (Panel(Box(x, y, rail_width, panel_height), content),)
    lane_height = rail_height - panel_height * len(parts.readouts) - gutter_height
    lane = Box(x, y + panel_height, rail_width, lane_height)
    gutter = Box(x, lane.bottom, rail_width, gutter_height)
    if paired:
        panels += (Panel(Box(x, gutter.bottom, rail_width, panel_height), content),)
    return Layout(
        rail=Box(x, y, rail_width, rail_height),
        panels=panels,
        lane=lane,
        gutter=gutter,
        margin=None,
        minimap=None,
        flow="up",
        axis=even((rail_width - parts.axis_line) / 2) if paired else padding,
        needle=even(style.lane.needle * lane_height),
        look=parts.look,
        rate_base=parts.rate_base,
        rate_height=parts.rate_height,
        padding=padding,
    )


def _aligned(style: Style, start: int, room: int, length: int) -> int:
    share = {"start": 0.0, "centre": 0.5, "end": 1.0}[style.place.align]
    return start + even((room - length) * share)


def rules_within(style: Style, scale: Scale, height: int) -> dict[int, float]:
    """Height in pixels of each rule in ms, lowest first, up to the height of a lane."""
    rules = {int(scale.pixels(rule)): rule for rule in sorted(style.lane.rules_ms)}
    return {pixels: rule for pixels, rule in rules.items() if pixels <= height}


def _lane_look(style: Style, unit: float, scale: Scale, *, paired: bool) -> LaneLook:
    cut_ms = style.lane.paired_cut_ms if paired else style.lane.cut_ms
    height = even_up(int(scale.pixels(cut_ms)))
    return LaneLook(
        height=height,
        gap=max(1, round(style.lane.gap * unit)),
        line=max(1, round(2 * unit)),
        detail_size=style.type.detail * unit,
        times=style.lane.stall_times,
        rules=rules_within(style, scale, height),
    )
