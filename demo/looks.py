"""How the two invented machines draw the same program."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Look:
    """What a machine can afford."""

    name: str
    detail: float
    """Resolution of the pre-drawn scenery, as a share of the picture's."""
    saturation: float
    """Colour strength; 1 leaves the palette as designed."""
    contrast: float
    """Spread of tones around mid grey; 1 leaves them as designed."""
    lit_windows: float
    """Share of windows with a light behind them."""
    lanterns: float
    """Share of lantern posts that are lit."""
    grain: float
    """Strength of wall, roof and water texture."""


MERLE = Look("merle", 1.0, 1.0, 1.0, lit_windows=0.42, lanterns=1.0, grain=1.0)
"""The living-room machine: everything as designed."""

WREN = Look("wren", 0.6, 0.86, 0.95, lit_windows=0.24, lanterns=0.5, grain=0.7)
"""The portable one: softer scenery, duller palette, fewer lights."""

LOOKS = {look.name: look for look in (MERLE, WREN)}
