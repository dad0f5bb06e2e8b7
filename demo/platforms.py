"""The two invented machines, and how each of them fares with the program."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from demo import mast, pacing
from demo.encode import Encoding
from demo.looks import MERLE, WREN, Look
from demo.mast import mast_source
from demo.scene import DURATION_S, STORYBOARD, scene_source
from demo.simulator import Display, Simulation

REFRESH_HZ = Fraction(60)
ENCODING = Encoding(options={"crf": "20", "preset": "superfast"})
CLOSE_ENCODING = Encoding(options={"crf": "14", "preset": "veryfast"}, audio=False)
"""Of what is shown for its pixels."""


LOADING = next(cue for cue in STORYBOARD if cue.name == "loading")


@dataclass(frozen=True)
class Platform:
    """One machine playing the storyboard once."""

    label: str
    look: Look
    sync: bool
    load_s: Fraction
    """How long it shows the loading screen; all that follows comes later by as much."""
    flip_s: tuple[Fraction, ...]
    mast_share: Fraction
    """Size at which it draws the mast, as a share of the size shown."""

    @property
    def loaded_s(self) -> Fraction:
        """When the loading screen goes, counted from the start of its capture."""
        return LOADING.start_s + self.load_s

    @property
    def duration_s(self) -> Fraction:
        """Length of its capture."""
        return self.loaded_s + DURATION_S - LOADING.end_s

    def program_s(self, display_s: Fraction) -> Fraction:
        """The moment of the storyboard that it draws for a moment of its capture."""
        if display_s >= self.loaded_s:
            return display_s - self.loaded_s + LOADING.end_s
        waited = max(display_s - LOADING.start_s, Fraction(0))
        share = (LOADING.end_s - LOADING.start_s) / self.load_s
        return display_s - waited + waited * share

    def simulation(self, width: int, height: int) -> Simulation:
        """A capture of it at that picture size."""
        return Simulation(
            scene_source(width, height, self.look),
            self.flip_s,
            Display(REFRESH_HZ, self.sync),
            refreshes=int(self.duration_s * REFRESH_HZ),
            program_s=[self.program_s(flip) for flip in self.flip_s],
        )

    def mast(self, width: int, height: int) -> Simulation:
        """A capture of the mast of the mail boat at that picture size."""
        return Simulation(
            mast_source(width, height, self.mast_share),
            pacing.steady(mast.FRAMES_PER_S, mast.DURATION_S),
            Display(REFRESH_HZ, sync=True),
            refreshes=int(mast.DURATION_S * REFRESH_HZ),
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
        (Fraction("1.8"), pacing.jittered(29, 41, 10, seed=8)),
        # The screen is set up anew for the loading screen and after it, so neither comes torn.
        (WREN_LOAD_S, pacing.jittered(29, 41, 10, seed=9)),
        (Fraction("4.6"), pacing.jittered(29, 41, 10, seed=10)),
    )
    return pacing.stalled(flips, [(Fraction("9.1"), Fraction(3, 10))])


MERLE_LOAD_S, WREN_LOAD_S = Fraction("1.4"), Fraction("2.3")

PLATFORMS = (
    Platform("Merle", MERLE, True, MERLE_LOAD_S, tuple(_merle_flips()), Fraction(1)),
    Platform("Wren", WREN, False, WREN_LOAD_S, tuple(_wren_flips()), Fraction(3, 4)),
)
"""Merle, the living-room machine, and Wren, the portable one."""
