"""The two invented machines, and how each of them fares with the program."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from demo import pacing
from demo.encode import Encoding
from demo.looks import MERLE, WREN, Look
from demo.scene import DURATION_S, scene_source
from demo.simulator import Display, Simulation

REFRESH_HZ = Fraction(60)
ENCODING = Encoding(options={"crf": "20", "preset": "superfast"})


@dataclass(frozen=True)
class Platform:
    """One machine playing the storyboard once."""

    label: str
    look: Look
    sync: bool
    flip_s: tuple[Fraction, ...]

    def simulation(self, width: int, height: int) -> Simulation:
        """A capture of it at that picture size."""
        return Simulation(
            scene_source(width, height, self.look),
            self.flip_s,
            Display(REFRESH_HZ, self.sync),
            refreshes=int(DURATION_S * REFRESH_HZ),
        )


def _merle_flips() -> list[Fraction]:
    """60 fps with a few frames late by a refresh, and two short stalls."""
    flips = pacing.steady(60, DURATION_S)
    flips = pacing.late(flips, (196, 197, 251, 330, 371, 492, 540, 552, 564), Fraction(1, 120))
    stalls = [(Fraction("4.2"), Fraction(1, 4)), (Fraction("14.9"), Fraction(7, 60))]
    return pacing.stalled(flips, stalls)


def _wren_flips() -> list[Fraction]:
    """30 to 40 fps that never settles; uneven pacing in the dash; a stall in the arcade."""
    # Just off half of 60: tears wander up the picture instead of standing in one place.
    uneven = pacing.patterned((1, 3), REFRESH_HZ * Fraction(997, 1000), 4, Fraction(1, 250))
    flips = pacing.joined(
        (Fraction("2.8"), pacing.drifting(31, 40, 4)),
        (Fraction("2.4"), pacing.drifting(33, 40, 4, swing_s=3)),
        (Fraction("3.4"), uneven),
        (Fraction("7.8"), pacing.jittered(29, 41, 10, seed=8)),
    )
    return pacing.stalled(flips, [(Fraction("9.1"), Fraction(3, 10))])


PLATFORMS = (
    Platform("Merle", MERLE, True, tuple(_merle_flips())),
    Platform("Wren", WREN, False, tuple(_wren_flips())),
)
"""Merle, the living-room machine, and Wren, the portable one."""
