"""From a style, a canvas and the readouts to a layout inside the graphics-safe area."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pacerail.draw.canvas import Box
from pacerail.draw.lane import LaneLook
from pacerail.draw.layout import Bands, Layout, Panel
from pacerail.draw.lettering import CAP_HEIGHT, text_width
from pacerail.draw.readout import Readout
from pacerail.draw.scale import Scale, design_unit, even, even_up
from pacerail.draw.style import Style
from pacerail.errors import UsageError

# EBU R 95: graphics keep this share of the picture clear at every edge.
GRAPHICS_SAFE = 0.05

# Lengths chosen by eye.
BESIDE_FROM = 2.6
"""A readout lies beside the lane where the rail is at least this many readouts long."""
LEAST_LENGTH = 560
"""Shortest rail in pixels of the design, whatever share of the canvas a style asks for."""
LEAST_UPRIGHT_LANE = 380
"""The same for the lane of an upright rail, which shares its length with the readouts."""
LEAST_MAP = 8
LEAST_REFRESHES = 12
"""A lane shorter than this many refreshes tells nothing."""


@dataclass(frozen=True)
class _Parts:
    """What both directions of flow are put together from."""

    style: Style
    unit: float
    safe: Box
    readouts: Sequence[Readout]
    bands: Bands

    @property
    def tracks(self) -> int:
        return len(self.readouts)

    @property
    def readout_width(self) -> int:
        return even_up(max(readout.width for readout in self.readouts))

    @property
    def readout_height(self) -> int:
        return even_up(max(readout.height for readout in self.readouts))

    @property
    def label_width(self) -> float:
        """Of the longest rule label, which carries the unit."""
        text = f"{max(self.style.lane.rules_ms, default=0):g} ms"
        return text_width(text, self.bands.look.detail_size, "Medium")

    def length_of(self, room: int, least: float) -> int:
        """Of the rail, on the side of the safe area that has that much room."""
        return min(even(max(self.style.place.length * room, least)), room)

    def aligned(self, start: int, room: int, length: int) -> int:
        """Where a length starts on the side of the safe area."""
        share = {"start": 0.0, "centre": 0.5, "end": 1.0}[self.style.place.align]
        return start + even((room - length) * share)


def safe_area(width: int, height: int) -> Box:
    """The graphics-safe part of a canvas, on even pixels."""
    left, top = even_up(width * GRAPHICS_SAFE), even_up(height * GRAPHICS_SAFE)
    return Box(left, top, (width - 2 * left) // 2 * 2, (height - 2 * top) // 2 * 2)


def _shared(one: Box, other: Box) -> Box:
    """What two boxes both cover; no pixels where they lie apart."""
    x, y = max(one.x, other.x), max(one.y, other.y)
    width, height = min(one.right, other.right) - x, min(one.bottom, other.bottom) - y
    return Box(x, y, max(width, 0), max(height, 0))


def rules_within(style: Style, scale: Scale, height: int) -> dict[int, float]:
    """Height in pixels of each rule in ms, lowest first, up to the height of a lane."""
    rules = {int(scale.pixels(rule)): rule for rule in sorted(style.lane.rules_ms)}
    return {pixels: rule for pixels, rule in rules.items() if pixels <= height}


def arrange(
    style: Style,
    width: int,
    height: int,
    readouts: Sequence[Readout],
    scale: Scale,
    *,
    room: Box | None = None,
) -> Layout:
    """The layout of one or two tracks on a canvas, or in a part of it that is even.

    Raises UsageError when it does not fit the graphics-safe area.
    """
    unit, safe = design_unit(width, height), safe_area(width, height)
    if room is not None:
        safe = _shared(safe, room)
    parts = _Parts(style, unit, safe, readouts, _bands(style, unit, scale, len(readouts)))
    is_upright = style.place.edge in ("left", "right")
    layout = _arrange_upright(parts) if is_upright else _arrange_along(parts)
    rail = layout.rail
    is_inside = (
        rail.x >= safe.x
        and rail.y >= safe.y
        and rail.right <= safe.right
        and rail.bottom <= safe.bottom
    )
    has_room = all(panel.content.width >= parts.readout_width for panel in layout.panels)
    shows_enough = layout.along >= LEAST_REFRESHES * scale.pixels_per_refresh
    if not (is_inside and has_room and shows_enough):
        raise UsageError(
            f"overlay must fit the graphics-safe {safe.width}x{safe.height} of the picture, got "
            f"{rail.width}x{rail.height} with readouts of {parts.readout_width}x"
            f"{parts.readout_height} and {max(layout.along, 0)} pixels of tiles; "
            "choose another style or smaller sizes in it"
        )
    return layout


def _bands(style: Style, unit: float, scale: Scale, tracks: int) -> Bands:
    cut_ms = style.lane.paired_cut_ms if tracks == 2 else style.lane.cut_ms
    height = even_up(int(scale.pixels(cut_ms)))
    padding = even(style.plate.padding * unit)
    rate_height = even(style.lane.rate_height * unit)
    look = LaneLook(
        height=height,
        gap=max(1, round(style.lane.gap * unit)),
        line=max(1, round(2 * unit)),
        detail_size=style.type.detail * unit,
        rules=rules_within(style, scale, height),
    )
    return Bands(look, height + (padding // 2 if rate_height else 0), rate_height, padding)


def _arrange_along(parts: _Parts) -> Layout:
    """Time runs to the right; readouts lie beside the lane, or above and below it."""
    style, bands, safe = parts.style, parts.bands, parts.safe
    padding, paired = bands.padding, parts.tracks == 2
    length = parts.length_of(safe.width, LEAST_LENGTH * parts.unit)
    gutter_width = even_up(parts.label_width + 1.6 * padding)
    # Numbers keep a little more room from the tiles than from the edge of the plate.
    lane_gap = even(max(padding, 0.8 * style.readout.gutter * parts.unit))
    panel_width = even_up(padding + parts.readout_width + lane_gap)
    is_beside = (
        style.place.readout == "beside" and length - gutter_width >= BESIDE_FROM * panel_width
    )
    breadth = bands.breadth
    if is_beside:
        # Mirrored readouts keep clear of each other at the axis.
        inner = even_up(0.8 * padding) if paired else 0
        breadth = max(breadth, parts.readout_height + inner)
    axis = padding + breadth
    lane_height = axis + bands.axis_line + (breadth if paired else 0) + padding
    panel_height = 0 if is_beside else parts.readout_height + even_up(1.5 * padding)
    map_height = max(even(style.lane.minimap_height * parts.unit), LEAST_MAP)
    map_room = map_height + padding if style.lane.minimap_height else 0
    height = lane_height + parts.tracks * panel_height + map_room
    x = parts.aligned(safe.x, safe.width, length)
    y = safe.y if style.place.edge == "top" else safe.bottom - height
    rail = Box(x, y, length, height)
    before = panel_width if is_beside else padding
    lane = Box(x + before, y + panel_height, length - before - gutter_width, lane_height)
    beside = Box(x, lane.y, before, lane_height)
    return Layout(
        rail=rail,
        panels=(
            _panels_beside(parts, beside, axis, lane_gap)
            if is_beside
            else _panels_above(parts, rail, lane, panel_height)
        ),
        lane=lane,
        gutter=Box(lane.right, lane.y, gutter_width, lane_height),
        margin=None if is_beside else beside,
        minimap=Panel(
            Box(x, rail.bottom - map_room, length, map_room),
            Box(padding, 2, length - 2 * padding, map_height - 4),
        )
        if map_room
        else None,
        flow="right",
        axis=axis,
        is_turned=False,
        needle=even(style.lane.needle * lane.width),
        bands=bands,
    )


def _panels_beside(parts: _Parts, box: Box, axis: int, lane_gap: int) -> tuple[Panel, ...]:
    """One panel that stands on the axis, or two that share the height at the axis."""
    padding, height = parts.bands.padding, parts.readout_height
    width = box.width - padding - lane_gap
    if parts.tracks == 1:
        height = max(height, parts.bands.look.height)
        return (Panel(box, Box(padding, axis - height, width, height)),)
    upper = Box(box.x, box.y, box.width, axis)
    lower = Box(box.x, upper.bottom, box.width, box.height - axis)
    return (
        Panel(upper, Box(padding, padding, width, height)),
        Panel(lower, Box(padding, lower.height - padding - height, width, height)),
    )


def _panels_above(parts: _Parts, rail: Box, lane: Box, panel_height: int) -> tuple[Panel, ...]:
    """One panel over the lane, and for a second track one under it."""
    padding = parts.bands.padding
    width, height = rail.width - 2 * padding, parts.readout_height
    over = Panel(
        Box(rail.x, rail.y, rail.width, panel_height), Box(padding, padding, width, height)
    )
    under = Panel(
        Box(rail.x, lane.bottom, rail.width, panel_height),
        Box(padding, panel_height - padding - height, width, height),
    )
    return (over, under)[: parts.tracks]


def _arrange_upright(parts: _Parts) -> Layout:
    """Time runs upward; readouts lie above the lane and, for a second track, below it."""
    style, bands, safe = parts.style, parts.bands, parts.safe
    padding, paired = bands.padding, parts.tracks == 2
    # The label of the highest rule is centred on it and must not leave the plate.
    label_end = max(bands.look.rules, default=0) + parts.label_width / 2
    reach = even_up(max(bands.breadth, label_end - padding / 2))
    width = even_up(2 * padding + max(reach * parts.tracks + bands.axis_line, parts.readout_width))
    panel_height = parts.readout_height + 2 * padding
    gutter_height = even_up(CAP_HEIGHT * bands.look.detail_size + 1.2 * padding)
    taken = parts.tracks * panel_height + gutter_height
    length = parts.length_of(safe.height, taken + LEAST_UPRIGHT_LANE * parts.unit)
    x = safe.x if style.place.edge == "left" else safe.right - width
    y = parts.aligned(safe.y, safe.height, length)
    lane_height = length - taken
    lane = Box(x, y + panel_height, width, lane_height)
    gutter = Box(x, lane.bottom, width, gutter_height)
    content = Box(padding, padding, width - 2 * padding, parts.readout_height)
    is_turned = style.place.edge == "right" and not paired
    axis = even((width - bands.axis_line) / 2) if paired else padding
    panels = (
        Panel(Box(x, y, width, panel_height), content),
        Panel(Box(x, gutter.bottom, width, panel_height), content),
    )
    return Layout(
        rail=Box(x, y, width, length),
        panels=panels[: parts.tracks],
        lane=lane,
        gutter=gutter,
        margin=None,
        minimap=None,
        flow="up",
        axis=width - padding - bands.axis_line if is_turned else axis,
        is_turned=is_turned,
        needle=even(style.lane.needle * lane_height),
        bands=bands,
    )
