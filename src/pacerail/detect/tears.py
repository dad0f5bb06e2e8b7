"""From changes per band and possible tear rows to flips with their tear rows.

Only stretches that show tears at all are searched: elsewhere every flip is clean and
falls in a refresh that changed. A stretch is one where mirrored changes or seams are
frequent, or where both are found at the same row.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pacerail.detect.flips import Candidates, choose_flips
from pacerail.detect.scan import Part, TearRows
from pacerail.detect.thresholds import Thresholds

WINDOW = 45
"""Refreshes to each side over which signs of tears are counted."""
FREQUENT_OCTAVES, FREQUENT_SEAM, FREQUENT_SHARE = 1.0, 0.175, 0.11
"""Without tears, mirrors or seams this strong come in less than 3 of 100 refreshes, so
one in nine does not come by chance (measured on H.264 up to crf 28)."""
BOTH_OCTAVES, BOTH_SEAM, BOTH_WEIGHT = 1.2, 0.1, 10.0
"""A mirror and a seam at the same row are a tear on their own."""
REACH = 8
"""Refreshes around a sign of a tear that are searched with it."""
CLEAN_COST = 2.0
TEAR_COST = 6.0
MIRROR_GAIN = 5.0
"""Costs in the units of the evidence: a mirror of one octave nearly pays for a tear, two
octaves pay for it without any other evidence."""
SEAM_GAIN = 60.0
"""A seam across a tenth of the width pays for a tear."""
SPLIT_COST = 7.0
"""A tear whose row only the bands tell."""
HELD_SHARE = 1 / 24
"""Share of the height that must be held beside a mirror: stripes of little texture, which
look held, are seldom wider."""
SPLIT_SLACK = 1.0
"""Evidence by which two band edges may differ and still be equally good."""
DEAD_OCTAVES = 1.0
"""Changes this close to the threshold say nothing, twice as far they say all."""
EVIDENCE_LIMIT = 6.0
"""One band may not outweigh all others."""
ACTIVE_REACH = 3
"""Refreshes in which a band must have changed for its stillness to mean anything."""


def torn_stretches(tear_rows: TearRows, refreshes: int) -> list[tuple[int, int]]:
    """Half-open intervals of places in which flips must be searched row by row."""
    weight = np.zeros(refreshes)
    both = (tear_rows.mirror_octaves >= BOTH_OCTAVES) & (tear_rows.seam >= BOTH_SEAM)
    either = (tear_rows.mirror_octaves >= FREQUENT_OCTAVES) | (tear_rows.seam >= FREQUENT_SEAM)
    np.maximum.at(weight, tear_rows.place, np.where(both, BOTH_WEIGHT, either * 1.0))
    total = np.concatenate([[0], np.cumsum(weight)])
    index = np.arange(refreshes)
    last, first = np.minimum(index + WINDOW + 1, refreshes), np.maximum(index - WINDOW, 0)
    share = (total[last] - total[first]) / (last - first)
    counted = (weight > 0) & (share >= FREQUENT_SHARE)
    inside = np.zeros(refreshes + 1, int)
    for refresh in np.flatnonzero(counted).tolist():
        inside[max(refresh - REACH, 0)] += 1
        inside[min(refresh + REACH + 1, refreshes)] -= 1
    covered = np.concatenate([[False], np.cumsum(inside)[:refreshes] > 0, [False]])
    edges = np.flatnonzero(np.diff(covered.astype(int)))
    return list(zip(edges[0::2].tolist(), edges[1::2].tolist(), strict=True))


def flips_in_stretch(
    part: Part,
    bands: NDArray[np.float64],
    thresholds: Thresholds,
    period_rows: float,
    stretch: tuple[int, int],
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Place and tear row of every flip in a stretch of a part.

    bands : (n, bands) log2 change of each band of the part.
    """
    first, end = stretch
    compared = part.compared[first:end]
    evidence = _band_evidence(bands[first:end], thresholds.threshold[first:end])
    evidence[~compared] = 0
    candidates = _candidates(part, evidence, compared, stretch)
    chosen = choose_flips(candidates, evidence, part.band_rows, period_rows, HELD_SHARE * part.rows)
    return candidates.refresh[chosen] + first, candidates.row[chosen]


def _candidates(
    part: Part,
    evidence: NDArray[np.float64],
    compared: NDArray[np.bool_],
    stretch: tuple[int, int],
) -> Candidates:
    """Every place where a flip is possible: clean, at a seen tear row, at a band edge."""
    first, end = stretch
    tears = part.tear_rows
    inside = (tears.place >= first) & (tears.place < end)
    places = np.arange(end - first)
    none = np.zeros(len(places))
    clean = (places, none, none - CLEAN_COST, none)
    torn = (
        tears.place[inside] - first,
        tears.row[inside],
        SEAM_GAIN * tears.seam[inside] - TEAR_COST,
        MIRROR_GAIN * np.minimum(tears.mirror_octaves[inside], 2.5),
    )
    split_row, split_gain = _split_rows(evidence, part.band_rows)
    useful = split_gain > 0
    split = (places[useful], split_row[useful], none[useful] - SPLIT_COST, none[useful])
    columns = [np.concatenate(column) for column in zip(clean, torn, split, strict=True)]
    order = np.lexsort((columns[1], columns[0]))
    order = order[compared[columns[0][order]]]
    return Candidates(*(column[order] for column in columns))


def _band_evidence(
    bands: NDArray[np.float64], threshold: NDArray[np.float64]
) -> NDArray[np.float64]:
    """(n, bands) evidence for change; stillness counts only where there was motion."""
    distance = bands - threshold
    beyond = np.sign(distance) * np.maximum(
        np.abs(distance) - np.where(distance > 0, 0.6, 1.0) * DEAD_OCTAVES, 0
    )
    score = 2.0 * beyond
    active = np.full_like(score, -np.inf)
    for lag in range(1, ACTIVE_REACH + 1):
        active[lag:] = np.maximum(active[lag:], score[:-lag])
        active[:-lag] = np.maximum(active[:-lag], score[lag:])
    floor = -np.clip(active, 0.02, EVIDENCE_LIMIT)
    return np.clip(score, floor, EVIDENCE_LIMIT)


def _split_rows(
    evidence: NDArray[np.float64], band_rows: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Band edge of each refresh that best parts held above from changed below.

    The next refresh must show the opposite. Returns rows and the evidence gained over
    leaving the refresh whole, each (n,).
    """
    following = np.concatenate([evidence[1:], np.zeros((1, evidence.shape[1]))])
    gain = np.cumsum(following - evidence, axis=1)[:, :-1]
    best = gain.max(axis=1, keepdims=True)
    # Bands without evidence could lie on either side: the middle of them errs least.
    position = np.arange(gain.shape[1])
    is_best = gain >= best - SPLIT_SLACK
    middle = (is_best * position).sum(axis=1) // is_best.sum(axis=1)
    return band_rows[1:-1][middle], best[:, 0]
