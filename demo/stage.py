"""Everything a shot can show, built for one picture size and one look when first used."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import Any

from demo import actors, sky, water
from demo.arcade import Arcade
from demo.canvas import DESIGN_HEIGHT, Board, Rgba, image_of
from demo.house import Street
from demo.layer import Layer
from demo.looks import Look
from demo.market import market
from demo.scenery import Workshop
from demo.town import street

PERIOD = 3600.0
"""Length after which near scenery repeats, in design units."""

HEADLAND_TOP = sky.HORIZON - 226

QUAY = Street(
    walls=("a8626b", "8c5a7c", "c08a76", "7b6a92", "b5716a", "96707f"),
    roofs=("7d3f52", "5d4270", "8f5050", "4f4a76"),
    haze="a9668a",
    haze_share=0.24,
    rim="ffb98a",
    size=0.74,
)
ROOFTOPS = Street(
    walls=("6d4058", "5a4a74", "7f5560", "4b4270", "70485f"),
    roofs=("5f2f48", "423160", "713d4c", "363566"),
    haze="2d2452",
    haze_share=0.12,
    rim="ff9f75",
    size=1.75,
)


class Stage:
    """The scenery of the program."""

    def __init__(self, width: int, height: int, look: Look) -> None:
        self.width, self.height, self.look = width, height, look
        self.scale = height / DESIGN_HEIGHT
        self.units_wide = width / self.scale
        self.workshop = Workshop(self.scale, look)
        self._kept: dict[str, Rgba] = {}

    def _layer(self, rgba: Any, top: float, depth: float, phases: int = 1) -> Layer:
        return Layer(rgba, top * self.scale, depth, phases=phases)

    @cached_property
    def sky(self) -> Any:
        """The still sky as an opaque image."""
        return image_of(sky.sky(self.workshop, self.units_wide), opaque=True)

    @cached_property
    def clouds(self) -> Layer:
        """Low contrast, slow."""
        return self._layer(sky.clouds(self.workshop, 2600, 360, 31, 0.85), 110, 0.05, phases=8)

    @cached_property
    def far_hills(self) -> Layer:
        """The farthest ridge."""
        return self._layer(
            sky.hills(self.workshop, 2800, 150, 41, 0.0), sky.HORIZON - 140, 0.06, phases=8
        )

    @cached_property
    def near_hills(self) -> Layer:
        """A nearer ridge."""
        return self._layer(
            sky.hills(self.workshop, 3000, 110, 42, 0.7), sky.HORIZON - 98, 0.1, phases=8
        )

    @cached_property
    def headland(self) -> Layer:
        """The far shore with its lighthouse."""
        return self._layer(sky.headland(self.workshop, 43), HEADLAND_TOP, water.DEPTH_FAR, phases=4)

    @cached_property
    def water(self) -> water.Water:
        """The harbour from the horizon to the quay."""
        return water.Water(self.workshop, 3000, 370)

    @cached_property
    def boats(self) -> Layer:
        """Boats at their moorings."""
        return self._layer(water.boats(self.workshop, 3000, 190, 51, 7), 560, 0.26, phases=4)

    @cached_property
    def quay(self) -> Layer:
        """Houses along the water and the quay before them."""
        houses = street(PERIOD, 300, (62, 140), 61, QUAY, self.look.lit_windows)
        paving = market(PERIOD, 298, 330, 62)

        def draw(canvas: Any) -> None:
            houses(canvas)
            paving(canvas)

        return self._layer(self.workshop.band(PERIOD, 620, draw, grain=0.1, seed=61), 635, 0.5)

    @cached_property
    def rooftops(self) -> Layer:
        """The roofs right below us."""
        draw = street(PERIOD, 900, (330, 520), 71, ROOFTOPS, self.look.lit_windows)
        return self._layer(self.workshop.band(PERIOD, 900, draw, grain=0.12, seed=71), 600, 1.0)

    @cached_property
    def lanterns(self) -> Layer:
        """Posts and lanterns in front of everything."""
        draw = actors.lantern_row(self.look, PERIOD, 1150, 4, 81)
        return self._layer(self.workshop.band(PERIOD, 1150, draw, grain=0.04, seed=81), 420, 1.55)

    @cached_property
    def arcade(self) -> Arcade:
        """The lantern arcade in perspective."""
        return Arcade(self.workshop, self.width, self.height)

    @cached_property
    def fog(self) -> Any:
        """The harbour mouth behind fog, still, as an opaque image."""
        return image_of(sky.fog(self.workshop, self.units_wide), opaque=True)

    @cached_property
    def far_mist(self) -> Layer:
        """A bank of mist, hardly lighter than what it drifts across."""
        return self._layer(sky.mist(self.workshop, 2600, 420, 33, 0.5), 330, 0.35, phases=4)

    @cached_property
    def near_mist(self) -> Layer:
        """A nearer one."""
        return self._layer(sky.mist(self.workshop, 3000, 420, 34, 0.6), 600, 0.5, phases=4)

    @cached_property
    def lamp_glow(self) -> Any:
        """The light of the lighthouse at its brightest."""
        return actors.lamp_glow(self.scale)

    def lamp_place(self, camera: tuple[float, float]) -> tuple[int, int]:
        """Column and row of the lighthouse lamp for a camera in design units."""
        x, y = sky.LAMP_X, sky.LAMP_Y
        period = sky.HEADLAND_WIDTH
        left = (x - camera[0] * water.DEPTH_FAR) % period
        top = HEADLAND_TOP + y - camera[1] * water.DEPTH_FAR
        return round(left * self.scale), round(top * self.scale)

    def kept(self, name: str, draw: Callable[[tuple[Rgba, Any]], None]) -> Rgba:
        """A still picture, drawn when first asked for; draw gets its samples and canvas."""
        if name not in self._kept:
            board = Board(self.width, self.height)
            draw((board.rgba, board.canvas))
            self._kept[name] = board.rgba
        return self._kept[name]

    @cached_property
    def shadow(self) -> Any:
        """The glider's soft shadow."""
        return actors.shadow(self.scale, 190)
