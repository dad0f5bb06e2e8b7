"""The detector: pictures in, a verdict for every refresh and a tear row for every flip out.

One pass over the pictures keeps a few hundred bytes per refresh; the decisions are taken
when the last picture has been seen, since what comes after a refresh says as much about
it as what came before.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacerail.detect.own_clock import own_clock
from pacerail.detect.scan import Part, scan
from pacerail.detect.tears import band_evidence, flips_in_stretch, torn_stretches
from pacerail.detect.thresholds import Thresholds, change_thresholds
from pacerail.picture import Picture
from pacerail.record import Verdict
from pacerail.region import Region
from pacerail.scanout import scan_out_of_height

MARGIN_LIMIT = 0.5
"""Octaves: a change less than a factor of 1.4 from the threshold could as well be on its
other side."""
ECHO_DROP, MOST_ECHO = 0.6, 1.0
"""Octaves. What stands out above the threshold by less than half of what it lies below both
its neighbours, less the first value, is the echo of a frame in a held picture, as coding
refines it late; the second value bounds that half. Without a known noise level, what lies
below both by the first value could be either."""
DOUBTFUL_SHARE = 0.12
"""Share of uncertain verdicts from which the frame rate is a guess: an eighth of 60 is more
than what sets one steady rate apart from the next. Our choice."""
COARSE_BANDS = 6
"""Bands that share a threshold: few enough to follow the scene, enough to learn from."""

_SMALLEST = 0.02  # code values; keeps the logarithm of an exact repeat finite


@dataclass(frozen=True)
class DetectorSettings:
    """What the user may say about a capture."""

    watch: Region | None = None
    """The only part of the picture that counts."""
    ignore: tuple[Region, ...] = ()
    """Parts of the picture that do not count."""


@dataclass(frozen=True, eq=False)
class Detection:
    """Columns as in `pacerail.record.TimingRecord`."""

    pts: NDArray[np.int64]
    verdict: NDArray[np.uint8]
    score: NDArray[np.float32]
    margin: NDArray[np.float32]
    flip_refresh: NDArray[np.int64]
    tear_row: NDArray[np.float64]
    notes: tuple[str, ...]


def detect(pictures: Iterable[Picture], settings: DetectorSettings) -> Detection:
    """Find the flips of a capture.

    Refreshes that `pictures` leaves out become faults. A change of picture size starts
    anew: the first picture of the new size has no predecessor.
    """
    return _assemble([_decide(part) for part in scan(pictures, settings.watch, settings.ignore)])


@dataclass(frozen=True, eq=False)
class _Decided:
    """Decisions on one part; flips refer to places in its columns."""

    part: Part
    verdict: NDArray[np.uint8]
    octaves: NDArray[np.float64]
    flip: NDArray[np.int64]
    tear_row: NDArray[np.float64]
    notes: tuple[str, ...]


def _decide(part: Part) -> _Decided:
    compared = part.compared
    strongest = np.log2(part.strongest + _SMALLEST)
    whole = change_thresholds(strongest[:, None], compared, part.is_intra)
    octaves = strongest - whole.threshold[:, 0]
    beside = np.pad(strongest, 1, constant_values=-np.inf)
    drop = np.minimum(beside[:-2], beside[2:]) - strongest
    octaves -= np.clip((drop - ECHO_DROP) / 2, 0, MOST_ECHO)
    flip = np.flatnonzero(compared & (octaves > 0))
    tear_row = np.zeros(len(flip))
    bands = np.log2(part.bands.astype(np.float64) + _SMALLEST)
    evidence = band_evidence(part, bands, _band_thresholds(bands, whole, part))
    period_rows = part.rows / scan_out_of_height(part.rows).active_fraction
    is_torn = np.zeros(len(compared), bool)
    for stretch in torn_stretches(part, evidence):
        is_torn[slice(*stretch)] = True
        found = flips_in_stretch(part, evidence, period_rows, stretch)
        outside = (flip < stretch[0]) | (flip >= stretch[1])
        flip = np.concatenate([flip[outside], found[0]])
        tear_row = np.concatenate([tear_row[outside], found[1]])
    order = np.lexsort((tear_row, flip))
    flip, tear_row = flip[order], tear_row[order]
    verdict = np.full(len(compared), Verdict.HELD, np.uint8)
    verdict[flip] = Verdict.NEW
    verdict[~compared] = Verdict.FIRST
    # Where the rows decide against the size of the change, its size still says how sure.
    octaves = np.where(verdict == Verdict.NEW, np.abs(octaves), -np.abs(octaves))
    octaves[~compared] = 0
    if whole.separation == 0:
        octaves[~is_torn & (drop > ECHO_DROP)] = 0
    is_new = verdict == Verdict.NEW
    alone = own_clock(part.extent, is_new, part.block)
    notes = part.notes if alone is None else (*part.notes, alone.note)
    return _Decided(part, verdict, octaves, flip, tear_row, notes)


def _band_thresholds(
    bands: NDArray[np.float64], whole: Thresholds, part: Part
) -> NDArray[np.float64]:
    """(n, bands) thresholds, learned by groups of bands and kept near that of the picture."""
    count = bands.shape[1]
    groups = -(-count // COARSE_BANDS)
    # The last group may be short: bands before it make it whole.
    members = np.minimum(np.arange(groups)[:, None] * COARSE_BANDS, max(count - COARSE_BANDS, 0))
    members = np.minimum(members + np.arange(COARSE_BANDS), count - 1)
    strongest = np.sort(bands[:, members], axis=2)[:, :, -2:].mean(axis=2)
    coarse = change_thresholds(strongest, part.compared, part.is_intra)
    group_of_band = np.arange(count) // COARSE_BANDS
    lowest = whole.threshold - 1.2
    threshold: NDArray[np.float64] = np.maximum(coarse.threshold[:, group_of_band], lowest)
    return threshold


def _assemble(decided: list[_Decided]) -> Detection:
    """Join the parts on the refresh grid; what they leave out is a fault."""
    if not decided:
        empty = np.empty(0)
        return Detection(
            empty.astype(np.int64),
            empty.astype(np.uint8),
            empty.astype(np.float32),
            empty.astype(np.float32),
            empty.astype(np.int64),
            empty,
            (),
        )
    refresh = np.concatenate([d.part.refresh for d in decided])
    first = refresh[0]
    place = refresh - first
    n = int(place[-1]) + 1
    verdict = np.full(n, Verdict.FAULT, np.uint8)
    verdict[place] = np.concatenate([d.verdict for d in decided])
    octaves = np.zeros(n)
    octaves[place] = np.concatenate([d.octaves for d in decided])
    known_pts = np.concatenate([d.part.pts for d in decided])
    pts = np.rint(np.interp(np.arange(n), place, known_pts)).astype(np.int64)
    pts[place] = known_pts
    flip_refresh = np.concatenate([d.part.refresh[d.flip] - first for d in decided])
    rows = decided[0].part.rows
    tear_row = np.concatenate([d.tear_row * (rows / d.part.rows) for d in decided])
    octaves = np.clip(octaves, -20, 20)
    notes = [note for d in decided for note in d.notes]
    if len(decided) > 1:
        notes.append(
            f"the picture size changes {len(decided) - 1} times; "
            "tear rows are scaled to the first size"
        )
    judged = (verdict == Verdict.NEW) | (verdict == Verdict.HELD)
    doubtful = int((judged & (np.abs(octaves) < MARGIN_LIMIT)).sum())
    if doubtful > DOUBTFUL_SHARE * n:
        notes.append(
            f"too little is left of {doubtful} of {n} refreshes to tell new from held: "
            "the figures are guesses; record with more bits, or watch a livelier part"
        )
    return Detection(
        pts,
        verdict,
        np.exp2(octaves).astype(np.float32),
        np.abs(octaves).astype(np.float32),
        flip_refresh,
        tear_row,
        tuple(notes),
    )
