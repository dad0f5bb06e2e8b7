"""What one direction says by itself, or borne out by the other, of how a picture was enlarged."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from pacerail.sharpness.candidates import Finding
from pacerail.sharpness.lines import LEAST_SHARE, LEAST_SWING, peaks, share_at, strongest_at
from pacerail.sharpness.quarters import MOST_DOUBT
from pacerail.sharpness.spectrum import Spectrum

# One direction on its own: what a picture shows can have a period in one direction, so far
# more is asked. (Native pictures of the bench: parallel lines that slant reach a strength of 128
# with a swing of 0.024, rock 66 with 0.052, all that swings wider 35.)
LONE_STRENGTH = 45.0
LONE_SWING = 0.07
# Such a direction is borne out by the other where that is in phase at the same period and so
# strong: the chance is one in fifty, as the period is no longer looked for.
BORNE_OUT_STRENGTH = 4.0
# Three quarters of the size across or down only: how wide the trace must swing at 1/4, and how
# far beyond 1/8 and 3/8. (Native pictures of the bench reach 4.9 in one direction.)
LONE_CODEC_SWING = 0.1
LONE_CODEC_EXCESS = 6.0
# Enlarged alike, the trace of one direction swings at least so much less than that of the
# other, whatever the picture shows. (Bench: lines of lettering reach a factor of 3.6.) Nobody
# stretches pictures by two and more in one direction only.
QUIET = 5.0


@dataclass(frozen=True)
class Lone:
    """A period that one direction shows strongly enough to count by itself."""

    share: float
    """Native size over shown size in that direction."""
    other: Literal["quiet", "alike", "unclear"]
    """The other direction at that period: too quiet to have been enlarged alike, in phase and
    strong enough to bear it out, or neither."""


def alone(axis: Spectrum, other: Spectrum, doubt: float) -> Lone | None:
    """What one direction stands for by itself, if it does.

    doubt : `quarters.quarter_doubt` along the axis.
    """
    quarter = strongest_at(axis.swing, axis, 0.25)
    if doubt <= MOST_DOUBT and quarter >= LONE_CODEC_SWING and _excess(axis) >= LONE_CODEC_EXCESS:
        is_quiet = strongest_at(other.swing, other, 0.25) < quarter / QUIET
        return Lone(0.75, "quiet") if is_quiet else None
    is_strong = (axis.strength_in_phase >= LONE_STRENGTH) & (axis.swing >= LONE_SWING)
    places = np.flatnonzero(peaks(axis) & is_strong)
    if not len(places):
        return None
    best = int(places[np.argmax(axis.swing[places])])
    share, frequency = share_at(axis, best), float(axis.frequency[best])
    if share is None or share < LEAST_SHARE:
        return None
    if share > 0.5 and strongest_at(other.swing, other, frequency) < axis.swing[best] / QUIET:
        return Lone(share, "quiet")
    return Lone(share, "alike" if _bears_out(other, frequency, share) else "unclear")


def borne_out(rows: Spectrum, columns: Spectrum) -> list[Finding]:
    """Periods that one direction shows strongly and the other bears out."""
    findings = []
    for axis, other in ((rows, columns), (columns, rows)):
        lone = alone(axis, other, math.inf)
        if lone is not None and lone.other == "alike":
            frequency = min(lone.share, 1 - lone.share)
            swing = math.sqrt(
                strongest_at(axis.swing, axis, frequency)
                * strongest_at(other.swing, other, frequency)
            )
            findings.append(
                Finding(lone.share, lone.share, LONE_STRENGTH, swing, rests_on_one=True)
            )
    return findings


def _bears_out(axis: Spectrum, frequency: float, share: float) -> bool:
    """True where a direction is in phase at the period that the other shows."""
    if not axis.independent:
        return False
    places = np.arange(len(axis.frequency))[axis.window(frequency, 0.5 / axis.independent)]
    best = int(places[np.argmax(axis.strength_in_phase[places])])
    shown = share_at(axis, best)
    return (
        axis.strength_in_phase[best] >= BORNE_OUT_STRENGTH
        and axis.swing[best] >= LEAST_SWING
        and shown is not None
        and (shown > 0.5) == (share > 0.5)
    )


def _excess(axis: Spectrum) -> float:
    """The swing at 1/4 over the larger of those at 1/8 and 3/8, codecs' other frequencies."""
    others = max(strongest_at(axis.swing, axis, 0.125), strongest_at(axis.swing, axis, 0.375))
    return strongest_at(axis.swing, axis, 0.25) / others if others else 0.0
