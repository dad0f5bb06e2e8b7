"""The verdict: at what size pictures were drawn, how sure that is, and what else it may be."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from pacerail.sharpness.candidates import HARMONICS, Finding, agreeing, are_apart, three_quarters
from pacerail.sharpness.lines import LEAST_SHARE
from pacerail.sharpness.lone import LONE_STRENGTH, alone, borne_out
from pacerail.sharpness.look import Look
from pacerail.sharpness.quarters import are_three_quarters
from pacerail.sharpness.spectrum import Spectrum, spectrum

Status = Literal["upscaled", "native", "unknown"]

# Two frequencies are taken for the same within so many independent ones.
SAME = 2.0
# Below this confidence nothing is claimed. (Our choice: more likely than all else together.)
LEAST_CONFIDENCE = 0.5
# What is not proved beyond the tests is not told as certain.
MOST_CONFIDENCE = 0.99
# A size that rests on one direction, or on a frequency that codecs have, takes more on trust.
LESS_PROVED = 0.8


@dataclass(frozen=True)
class Candidate:
    """A size that the evidence allows."""

    width: int
    height: int
    confidence: float
    """Share of the evidence, 0 to 1; 0 where only what is taken for granted rules it out."""
    because: str
    """What speaks for it."""


@dataclass(frozen=True, eq=False)
class Estimate:
    """What is known about the native size of some pictures."""

    status: Status
    """``native`` is no smaller than 94 % of the size shown; ``unknown`` is no evidence."""
    width: int | None
    height: int | None
    confidence: float
    """0 to 1."""
    candidates: tuple[Candidate, ...]
    """Sizes that the evidence allows, the likeliest first."""
    pictures: int
    """Different pictures that were looked at."""
    rows: Spectrum
    """From row to row."""
    columns: Spectrum
    """From column to column."""


def estimate(look: Look) -> Estimate:
    """Weigh what pictures show."""
    rows, columns = (spectrum(trace) for trace in look.traces())
    candidates = tuple(_candidates(look, rows, columns))
    status: Status = "unknown"
    width = height = None
    confidence = 0.0
    if candidates and candidates[0].confidence >= LEAST_CONFIDENCE:
        status, best = "upscaled", candidates[0]
        width, height, confidence = best.width, best.height, best.confidence
    elif not candidates and look.is_native:
        status, confidence = "native", MOST_CONFIDENCE
        width, height = look.columns, look.rows
    return Estimate(status, width, height, confidence, candidates, look.pictures, rows, columns)


def _candidates(look: Look, rows: Spectrum, columns: Spectrum) -> Iterator[Candidate]:
    """All sizes that the evidence allows, the likeliest first."""
    findings = agreeing(rows, columns)
    for further in borne_out(rows, columns):
        if all(are_apart(further, finding, rows) for finding in findings):
            findings.append(further)
    if are_three_quarters(look.quarter_doubts):
        findings.append(three_quarters(rows, columns))
    findings.sort(key=lambda finding: -finding.swing)
    if not findings:
        findings = _alone(rows, columns, look.quarter_doubts)
    if not findings:
        return
    best, rivals = findings[0], []
    trust = MOST_CONFIDENCE
    if best.among_codec or best.rests_on_one:
        trust *= LESS_PROVED
    for finding in findings[1:]:
        if not _is_harmonic(finding, best, rows):
            rivals.append(finding)
    total = sum(finding.swing**2 for finding in (best, *rivals))
    for finding in (best, *rivals):
        share = finding.swing**2 / total
        yield _sized(look, finding.row_share, finding.column_share, trust * share, _told(finding))
    for finding in findings[1:]:
        if finding not in rivals:
            yield _sized(
                look, finding.row_share, finding.column_share, 0.0, "a harmonic of the first"
            )
    if min(best.row_share, best.column_share) < 1:
        other = (_other_side(best.row_share), _other_side(best.column_share))
        side = "less" if min(best.row_share, best.column_share) > 0.5 else "more"
        large = (_shrunk(best.row_share), _shrunk(best.column_share))
        if min(other) >= LEAST_SHARE:
            because = f"the same period, if drawn at {side} than half the size"
            yield _sized(look, *other, 0.0, because)
        yield _sized(look, *large, 0.0, "the same period, if drawn larger and shrunk")


def _alone(rows: Spectrum, columns: Spectrum, doubts: tuple[float, float]) -> list[Finding]:
    """One direction that is enlarged, without the other or as the other may be."""
    down, across = alone(rows, columns, doubts[0]), alone(columns, rows, doubts[1])
    alone_ones = [lone for lone in (down, across) if lone]
    if not alone_ones:
        return []
    share = min(lone.share for lone in alone_ones)
    alike = Finding(share, share, LONE_STRENGTH, 1.0, rests_on_one=True)
    apart = Finding(
        down.share if down else 1.0,
        across.share if across else 1.0,
        LONE_STRENGTH,
        1.0,
        rests_on_one=True,
    )
    return [apart] if all(lone.other == "quiet" for lone in alone_ones) else [apart, alike]


def _is_harmonic(finding: Finding, best: Finding, rows: Spectrum) -> bool:
    """True when a period is a multiple of the best one, folded."""
    return any(
        abs(_folded(order * best.row_share) - finding.row_frequency) <= SAME / rows.independent
        for order in HARMONICS
    )


def _folded(frequency: float) -> float:
    rest = math.fmod(frequency, 1.0)
    return min(rest, 1 - rest)


def _other_side(share: float) -> float:
    return 1 - share if share < 1 else 1.0


def _shrunk(share: float) -> float:
    """Of a picture that is shown smaller than it was drawn, with the same period."""
    return 1 + min(share, 1 - share)


def _told(finding: Finding) -> str:
    if finding.among_codec:
        return "one of every four samples follows from the others"
    if finding.row_share == 1:
        return "a period from column to column only"
    if finding.column_share == 1:
        return "a period from row to row only"
    if abs(finding.row_share - finding.column_share) > 0.01:
        return "a period in each direction"
    return "the same period from row to row and from column to column"


def _sized(
    look: Look, row_share: float, column_share: float, confidence: float, because: str
) -> Candidate:
    return Candidate(
        round(column_share * look.columns),
        round(row_share * look.rows),
        round(confidence, 3),
        because,
    )
