"""From the strength of periods to the sizes that a picture may have been drawn at.

A picture of n samples shown at L has a period of L / n samples, seen at the frequency n / L
folded into 0 to 0.5. The phase tells what folding hides, whether n or L - n was meant: the
picture is most bent at the drawn samples, at (i + 1/2) L / n from its edge, and shown samples
lie at whole numbers and a half, so a cosine laid out from the edge has the phase 0 where n is
more than half of L and half a cycle where it is less. Harmonics are folded as well, so one
period may still have several meanings. Two things are taken for granted, and said so: a
picture is drawn at no less than a quarter of the size it is shown at and at no more than the
whole, and both directions are enlarged alike unless the picture says otherwise.

Codecs have periods too: blocks of 4, 8 and 16 samples. Their frequencies and those next to
them count as no evidence. One size that matters lies among them, three quarters of the
height: it is told from a codec by what `quarters` finds, not by its frequency.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pacerail.sharpness.quarters import MOST_DOUBT
from pacerail.sharpness.spectrum import Spectrum

# Chance that two directions of noise agree on any size at all by accident, and the chance
# that the weaker one alone agrees with the stronger. Real pictures have heavier tails than
# noise, so the first is far below what a reader would ask for. (Of 130 native pictures of the
# bench, those that also swing wide enough and whose weaker direction is no noise reach 4e-4.)
FALSE_ALARM = 1e-6
WEAKER_FALSE_ALARM = 1e-2
# One direction on its own: what a picture shows can have a period in one direction, so far
# more is asked. (Native pictures of the bench: parallel lines that slant reach a strength of 128
# with a swing of 0.024, rock 66 with 0.052, all that swings wider 35.)
LONE_STRENGTH = 45.0
LONE_SWING = 0.07
# Such a direction is borne out by the other where that is in phase at the same period and so
# strong: the chance is one in fifty, as the period is no longer looked for.
BORNE_OUT_STRENGTH = 4.0
# Scalers map the edges of the drawn picture to those of the shown one, which fixes the phase
# of the trace, in cycles: only the part in phase counts, and most must be. (Bench: within 0.02
# of it, but within 0.08 where a strong period of what is shown lies next to it.) A picture that
# was enlarged before it was placed somewhere inside another has any phase, and must show more.
PHASE_TOLERANCE = 0.125
UNPHASED_STRENGTH = 65.0
UNPHASED_SWING = 0.05
# Rows of lettering and rock agree on periods that swing by less. (Bench: up to 0.015; enlarged
# pictures coded at crf 16 swing by 0.04 and more.)
LEAST_SWING = 0.02
# A trace may show these harmonics (bench: the fourth is the last), and of a trace whose
# fundamental is partly hidden, the harmonic may be the stronger, though it never swings as
# wide. So small a chance in each direction tells a fundamental from nothing.
HARMONICS = (2, 3, 4)
PARENT_FALSE_ALARM = 0.05
# Below this frequency a trace is ruled by what the picture shows; a picture drawn at more
# than 94 % of its size is not told from one drawn at all of it. (As `spectrum.SLOW`.)
LOWEST = 0.06
# Both directions of one picture: sizes are rounded to whole samples, often to multiples of
# four or eight, so that 1080 lines may go with 1912 columns.
SAME_ASPECT = 0.003
# Blocks of codecs repeat every 16 samples; their frequencies leak into so many independent
# ones to either side. (Native pictures of the bench: the third one away is the last.)
CODEC_PERIOD = 16
CODEC_LEAK = 4.0
# A strong period leaks into its neighbours too, so the strongest of so many independent ones
# to either side is the one that counts. (Side lobes of a DFT fall below a tenth by the third.)
CLEAR = 6.0
# Two and three independent frequencies away, a line has fallen below so much of its swing.
NARROW = 1.5
# A period at 1/4, of a codec or of three quarters, that swings so much wider in both directions
# leaves nothing to smaller ones: they are what the picture shows, or harmonics that went
# astray. (Bench: 2.2 at most beside a period of enlarging, 12 beside one that is not.)
OUTSWUNG = 4.0
# Three quarters of the size across or down only: how wide the trace must swing at 1/4, and how
# far beyond 1/8 and 3/8. (Native pictures of the bench reach 4.9 in one direction.)
LONE_CODEC_SWING = 0.1
LONE_CODEC_EXCESS = 6.0
# Nobody shows pictures enlarged by more than four.
LEAST_SHARE = 0.25
# Enlarged alike, the trace of one direction swings at least so much less than that of the
# other, whatever the picture shows. (Bench: lines of lettering reach a factor of 3.6.) Nobody
# stretches pictures by two and more in one direction only.
QUIET = 5.0


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


@dataclass(frozen=True)
class Lone:
    """A period that one direction shows strongly enough to count by itself."""

    share: float
    """Native size over shown size in that direction."""
    other: Literal["quiet", "alike", "unclear"]
    """The other direction at that period: too quiet to have been enlarged alike, in phase and
    strong enough to bear it out, or neither."""


def agreeing(rows: Spectrum, columns: Spectrum) -> list[Finding]:
    """Periods that both directions show alike, the widest swing first."""
    row_open, column_open = open_frequencies(rows), open_frequencies(columns)
    least = agreeing_strength(rows, columns)
    least_swing = three_quarters(rows, columns).swing / OUTSWUNG
    findings = []
    column_peaks = _peaks(columns)
    for place in np.flatnonzero(_peaks(rows)):
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
    row_share, column_share = _share(rows, place), _share(columns, other)
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


def _share(axis: Spectrum, place: int) -> float | None:
    """Native size over shown size of a picture enlarged edge to edge, if the phase is of one."""
    off, frequency = abs(axis.phase[place]), float(axis.frequency[place])
    if off <= PHASE_TOLERANCE:
        return 1 - frequency
    return frequency if off >= 0.5 - PHASE_TOLERANCE else None


def three_quarters(rows: Spectrum, columns: Spectrum) -> Finding:
    """The period of a picture at three quarters of its size, told from a codec's elsewhere."""
    strength = _at(rows.strength, rows, 0.25) + _at(columns.strength, columns, 0.25)
    swing = math.sqrt(_at(rows.swing, rows, 0.25) * _at(columns.swing, columns, 0.25))
    return Finding(0.75, 0.75, strength, swing, among_codec=True)


def alone(axis: Spectrum, other: Spectrum, doubt: float) -> Lone | None:
    """What one direction stands for by itself, if it does.

    doubt : `quarters.quarter_doubt` along the axis.
    """
    quarter = _at(axis.swing, axis, 0.25)
    if doubt <= MOST_DOUBT and quarter >= LONE_CODEC_SWING and _excess(axis) >= LONE_CODEC_EXCESS:
        is_quiet = _at(other.swing, other, 0.25) < quarter / QUIET
        return Lone(0.75, "quiet") if is_quiet else None
    is_strong = (axis.strength_in_phase >= LONE_STRENGTH) & (axis.swing >= LONE_SWING)
    places = np.flatnonzero(_peaks(axis) & is_strong)
    if not len(places):
        return None
    best = int(places[np.argmax(axis.swing[places])])
    share, frequency = _share(axis, best), float(axis.frequency[best])
    if share is None or share < LEAST_SHARE:
        return None
    if share > 0.5 and _at(other.swing, other, frequency) < axis.swing[best] / QUIET:
        return Lone(share, "quiet")
    return Lone(share, "alike" if _bears_out(other, frequency, share) else "unclear")


def borne_out(rows: Spectrum, columns: Spectrum) -> list[Finding]:
    """Periods that one direction shows strongly and the other bears out."""
    findings = []
    for axis, other in ((rows, columns), (columns, rows)):
        lone = alone(axis, other, math.inf)
        if lone is not None and lone.other == "alike":
            frequency = min(lone.share, 1 - lone.share)
            swing = math.sqrt(_at(axis.swing, axis, frequency) * _at(other.swing, other, frequency))
            findings.append(
                Finding(lone.share, lone.share, LONE_STRENGTH, swing, rests_on_one=True)
            )
    return findings


def are_apart(finding: Finding, other: Finding, rows: Spectrum) -> bool:
    """True where one period is no leak of the other."""
    return abs(finding.row_frequency - other.row_frequency) > CLEAR / rows.independent


def _bears_out(axis: Spectrum, frequency: float, share: float) -> bool:
    """True where a direction is in phase at the period that the other shows."""
    if not axis.independent:
        return False
    places = np.arange(len(axis.frequency))[axis.window(frequency, 0.5 / axis.independent)]
    best = int(places[np.argmax(axis.strength_in_phase[places])])
    shown = _share(axis, best)
    return (
        axis.strength_in_phase[best] >= BORNE_OUT_STRENGTH
        and axis.swing[best] >= LEAST_SWING
        and shown is not None
        and (shown > 0.5) == (share > 0.5)
    )


def open_frequencies(axis: Spectrum) -> NDArray[np.bool_]:
    """Frequencies that count as evidence: not too low, and none that codecs have."""
    if not axis.independent:
        return np.zeros(len(axis.frequency), bool)
    nearest = np.round(axis.frequency * CODEC_PERIOD) / CODEC_PERIOD
    of_codec = np.abs(axis.frequency - nearest) <= CODEC_LEAK / axis.independent
    is_open: NDArray[np.bool_] = (axis.frequency > LOWEST) & ~of_codec
    return is_open


def _peaks(axis: Spectrum) -> NDArray[np.bool_]:
    """Open frequencies that stand alone: one line, and no leak of a codec's frequency.

    The period of a trace is the same all over the picture, so it is as narrow as a line can
    be; what a picture shows has periods that spread.
    """
    is_open = open_frequencies(axis)
    if not is_open.any():
        return is_open
    width = axis.window(0.0, 1 / axis.independent).stop - 1
    of_codec = np.where(is_open | (axis.frequency <= LOWEST), 0, axis.swing)
    leaks = _highest(of_codec, range(-round(CLEAR * width), round(CLEAR * width) + 1)) / 2
    beside = _highest(axis.swing, range(-width, width + 1))
    further = [*range(-3 * width, -2 * width + 1), *range(2 * width, 3 * width + 1)]
    spread = _highest(axis.swing, further) * NARROW
    peaks: NDArray[np.bool_] = (
        is_open & (axis.swing >= beside) & (axis.swing > leaks) & (axis.swing > spread)
    )
    return peaks


def _highest(values: NDArray[np.float64], offsets: Sequence[int]) -> NDArray[np.float64]:
    """The highest of the values at those offsets from each place."""
    reach = max(abs(offset) for offset in offsets)
    padded = np.pad(values, reach)
    moved = [padded[reach + offset : reach + offset + len(values)] for offset in offsets]
    highest: NDArray[np.float64] = np.max(moved, axis=0)
    return highest


def _excess(axis: Spectrum) -> float:
    """The swing at 1/4 over the larger of those at 1/8 and 3/8, codecs' other frequencies."""
    others = max(_at(axis.swing, axis, 0.125), _at(axis.swing, axis, 0.375))
    return _at(axis.swing, axis, 0.25) / others if others else 0.0


def _at(values: NDArray[np.float64], axis: Spectrum, frequency: float) -> float:
    """The largest value within half an independent frequency."""
    if not axis.independent:
        return 0.0
    return float(values[axis.window(frequency, 0.5 / axis.independent)].max())
