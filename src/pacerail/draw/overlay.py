"""The overlay: for each refresh a few rectangles of finished images.

Nothing is drawn per picture unless it is new: the strip moves as parts of stretches drawn
before, and a readout is drawn again only when one of its numbers changes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

from pacerail.draw.arrange import arrange
from pacerail.draw.cache import Recent
from pacerail.draw.canvas import Box, Drawing
from pacerail.draw.furniture import draw_gutter, draw_needle
from pacerail.draw.layout import Layout
from pacerail.draw.minimap import Minimap
from pacerail.draw.reading import Reading
from pacerail.draw.readout import Readout
from pacerail.draw.scale import design_unit, scale_for
from pacerail.draw.stretches import Stretches
from pacerail.draw.style import Style
from pacerail.draw.tile_times import TimesInLane
from pacerail.draw.tiles import lay_tiles
from pacerail.draw.track import Track
from pacerail.errors import UsageError
from pacerail.patch import Image, Patch, whole


class Overlay:
    """Draws one or two tracks in a style on a canvas of a given size.

    first_refresh, end_refresh : the segment shown, in refreshes of the first track, which
    also sets the pace of the pictures.
    lead_s : seconds of the second track at which the first one is at 0.
    room : x, y, width and height of the part of the canvas to lie in; all of it by default.
    Raises UsageError when the overlay does not fit the canvas.
    """

    def __init__(
        self,
        tracks: Sequence[Track],
        style: Style,
        width: int,
        height: int,
        *,
        first_refresh: int,
        end_refresh: int,
        lead_s: float = 0.0,
        room: tuple[int, int, int, int] | None = None,
    ) -> None:
        if not 1 <= len(tracks) <= 2:
            raise UsageError(
                f"overlay must show one or two platforms, got {len(tracks)}; leave some out"
            )
        self._tracks = tuple(tracks)
        self._style = style
        self._refresh_hz = tracks[0].series.refresh_hz
        unit = design_unit(width, height)
        scale = scale_for(self._refresh_hz, style.lane.pixels_per_ms, unit)
        self._readouts = [Readout(track, tracks, style, unit) for track in tracks]
        self._layout = arrange(
            style, width, height, self._readouts, scale, room=Box(*room) if room else None
        )
        tiles = [lay_tiles(track.series, scale) for track in tracks]
        self._leads_s = (0.0, lead_s)
        leads = tuple(int(scale.pixels(1000.0 * lead)) for lead in self._leads_s)
        self._stretches = Stretches(self._tracks, tiles, leads, style, self._layout, scale)
        self._panels: Recent[Image] = Recent(8)
        self._shown: Recent[Image] = Recent(4)
        self._refreshes_per_change = math.ceil(
            self._refresh_hz / Fraction(style.readout.changes_per_second)
        )
        rates_hz = [float(track.series.refresh_hz) for track in tracks]
        self._gutter = draw_gutter(self._layout, style, rates_hz)
        self._margin = self._plain(self._layout.margin) if self._layout.margin else []
        self._needle = draw_needle(self._layout, style, unit)
        self._times = None
        if style.lane.stall_times:
            reach = min(self._needle.rgba.shape[:2]) // 2
            self._times = TimesInLane(tiles, leads, style, self._layout, reach)
        self._minimap = None
        if self._layout.minimap:
            segment = range(first_refresh, end_refresh)
            self._minimap = Minimap(
                self._layout.minimap, tiles, leads, style, self._layout, scale, segment
            )

    @property
    def layout(self) -> Layout:
        """Where everything lies."""
        return self._layout

    @property
    def rectangle(self) -> tuple[int, int, int, int]:
        """x, y, width and height that hold everything drawn; even."""
        rail = self._layout.rail
        return rail.x, rail.y, rail.width, rail.height

    def patches(self, refresh: int) -> list[Patch]:
        """What to paint, in order, on the picture of a refresh of the first track."""
        layout = self._layout
        return [
            *(
                whole(self._panel(number, refresh), panel.box.x, panel.box.y)
                for number, panel in enumerate(layout.panels)
            ),
            *self._margin,
            *self._stretches.window(refresh),
            *(self._times.patches(self._stretches.start(refresh)) if self._times else ()),
            whole(self._gutter, layout.gutter.x, layout.gutter.y),
            whole(self._needle, *layout.needle_corner(self._needle)),
            *(self._minimap.patches(refresh) if self._minimap else ()),
        ]

    def _plain(self, box: Box) -> list[Patch]:
        """A box of nothing but plate."""
        image = Drawing(
            box.width, box.height, self._style.plate_colour, lambda canvas: None
        ).image()
        return [whole(image, box.x, box.y)]

    def _panel(self, number: int, refresh: int) -> Image:
        """The readout of a track, as it was at the last moment when numbers may change."""
        change = refresh // self._refreshes_per_change
        return self._shown.get((number, change), lambda: self._panel_at(number, change))

    def _panel_at(self, number: int, change: int) -> Image:
        moment_s = float(change * self._refreshes_per_change / self._refresh_hz)
        reading = self._readouts[number].reader.read(moment_s + self._leads_s[number])
        return self._panels.get((number, reading), lambda: self._draw_panel(number, reading))

    def _draw_panel(self, number: int, reading: Reading) -> Image:
        panel, readout = self._layout.panels[number], self._readouts[number]
        return Drawing(
            panel.box.width,
            panel.box.height,
            self._style.plate_colour,
            lambda canvas: readout.draw(canvas, panel.content, reading),
        ).image()
