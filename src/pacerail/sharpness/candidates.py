"""From the strength of periods to the sizes that both directions allow alike.

What one direction shows without the other is for `lone`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacerail.sharpness.lines import (
    CLEAR,
    LEAST_SHARE,
    LEAST_SWING,
    open_frequencies,
    peaks,
    share_at,
    strongest_at,
)
from pacerail.sharpness.spectrum import Spectrum

# Chance that two directions of noise agree on any size at all by accident, and the chance
# that the weaker one alone agrees with the stronger. Real pictures have heavier tails than
# noise, so the first is far below what a reader would ask for. (Of 130 native pictures of the
# bench, those that also swing wide enough and whose weaker direction is no noise reach 4e-4.)
FALSE_ALARM = 1e-6
WEAKER_FALSE_ALARM = 1e-2
# A picture that was enlarged before it was placed somewhere inside another has any phase, and
# must show more.
UNPHASED_STRENGTH = 65.0
UNPHASED_SWING = 0.05
# A trace may show these harmonics (bench: the fourth is the last), and of a trace whose
# fundamental is partly hidden, the harmonic may be the stronger, though it never swings as
# wide. So small a chance in each direction tells a fundamental from nothing.
HARMONICS = (2, 3, 4)
PARENT_FALSE_ALARM = 0.05
# Both directions of one picture: sizes are rounded to whole samples, often to multiples of
# four or eight, so that 1080 lines may go with 1912 columns.
SAME_ASPECT = 0.003
# A period at 1/4, of a codec or of three quarters, that swings so much wider in both directions
# leaves nothing to smaller ones: they are what the picture shows, or harmonics that went
# astray. (Bench: 2.2 at most beside a period of enlarging, 12 beside one that is not.)
OUTSWUNG = 4.0


@dataclass(frozen=True)
class Finding:
    """One period that counts, by the share of the shown size that it stands for."""

    row_share: float
    """Native height over shown height; 1 where rows show nothing."""
    column_share: float
    strength: float
    """Both directions together, natural logarithm of one over the chance."""
    swing: float
    """Geometric mean of the trace's swing in the directions that show it."""
    among_codec: bool = False
    """True where the period is one that codecs have too."""
    rests_on_one: bool = False
    """True where one direction is no line of its own and only bears out the other."""

    @property
    def row_frequency(self) -> float:
        """Cycles per row of the period, 0 to 0.5."""
        return min(self.row_share, 1 - self.row_share)


def agreeing(rows: Spectrum, columns: Spectrum) -> list[Finding]:
    """Periods that both directions show alike, the widest swing first."""
    row_open, column_open = open_frequencies(rows), open_frequencies(columns)
    least = agreeing_strength(rows, columns)
    least_swing = three_quarters(rows, columns).swing / OUTSWUNG
    findings = []
    column_peaks = peaks(columns)
    for place in np.flatnonzero(peaks(rows)):
        found = _pair(rows, columns, int(place), column_peaks, WEAKER_FALSE_ALARM)
        if found is None or found.strength < least:
            continue
        found = _fundamental(found, rows, columns, row_open, column_open)
        if min(found.row_share, found.column_share) >= LEAST_SHARE:
            findings.append(found)
    apart: list[Finding] = []
    for finding in sorted(findings, key=lambda finding: -finding.swing):
        if finding.swing >= least_swing and all(are_apart(finding, other, rows) for other in apart):
            apart.append(finding)
    return apart


def agreeing_strength(rows: Spectrum, columns: Spectrum) -> float:
    """The strength that both directions must reach together, for any size to be found."""
    trials = max(rows.independent * open_frequencies(rows).mean() / 2, 1.0)
    return math.log(trials * _nearby(columns) / FALSE_ALARM)


def _nearby(columns: Spectrum) -> float:
    """Independent column frequencies that may go with one row frequency."""
    return max(2 * SAME_ASPECT * columns.independent, 1.0)


def _pair(
    rows: Spectrum, columns: Spectrum, place: int, eligible: NDArray[np.bool_], chance: float
) -> Finding | None:
    """The period of a row frequency, if an eligible column frequency goes with it.

    chance : that the weaker of both is noise. The further the column frequency is off, the
    more could have been there by accident.
    """
    window = columns.window(rows.frequency[place], SAME_ASPECT)
    swings = np.where(eligible[window], columns.swing[window], 0)
    other = window.start + int(np.argmax(swings))
    least_swing = min(rows.swing[place], columns.swing[other])
    row_share, column_share = share_at(rows, place), share_at(columns, other)
    in_phase = (
        row_share is not None
        and column_share is not None
        and (row_share > 0.5) == (column_share > 0.5)
    )
    if not eligible[other] or least_swing < (LEAST_SWING if in_phase else UNPHASED_SWING):
        return None
    down = (rows.strength_in_phase if in_phase else rows.strength)[place]
    across = (columns.strength_in_phase if in_phase else columns.strength)[other]
    together = float(down + across)
    apart = abs(rows.frequency[place] - columns.frequency[other]) * columns.independent
    if min(down, across) < math.log((1 + 2 * apart) / chance) or (
        not in_phase and together < UNPHASED_STRENGTH
    ):
        return None
    return Finding(
        row_share if in_phase and row_share else 1 - float(rows.frequency[place]),
        column_share if in_phase and column_share else 1 - float(columns.frequency[other]),
        together,
        math.sqrt(rows.swing[place] * columns.swing[other]),
    )


def _fundamental(
    found: Finding,
    rows: Spectrum,
    columns: Spectrum,
    row_open: NDArray[np.bool_],
    column_open: NDArray[np.bool_],
) -> Finding:
    """The finding itself, or the period whose harmonic it is: that one swings wider."""
    frequency = found.row_frequency
    step = rows.frequency[1]
    best = found
    for order in HARMONICS:
        for turns in range(order // 2 + 1):
            for parent in ((turns + frequency) / order, (turns - frequency) / order):
                place = round(parent / step)
                if not 0 < place < len(rows.frequency) or not row_open[place]:
                    continue
                wider = _pair(rows, columns, place, column_open, PARENT_FALSE_ALARM)
                if wider is not None and wider.swing > best.swing:
                    best = wider
    return best


def three_quarters(rows: Spectrum, columns: Spectrum) -> Finding:
    """The period of a picture at three quarters of its size, told from a codec's elsewhere."""
    strength = strongest_at(rows.strength, rows, 0.25) + strongest_at(
        columns.strength, columns, 0.25
    )
    swing = math.sqrt(
        strongest_at(rows.swing, rows, 0.25) * strongest_at(columns.swing, columns, 0.25)
    )
    return Finding(0.75, 0.75, strength, swing, among_codec=True)


def are_apart(finding: Finding, other: Finding, rows: Spectrum) -> bool:
    """True where one period is no leak of the other."""
    return abs(finding.row_frequency - other.row_frequency) > CLEAR / rows.independent
