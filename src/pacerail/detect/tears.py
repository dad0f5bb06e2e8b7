"""From changes per band and possible tear rows to flips with their tear rows.

Only stretches that show tears at all are searched: elsewhere every flip is clean and
falls in a refresh that changed. Two signs show tears: a refresh that changes below a row
while the next one changes above it, and strong seams.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from pacerail.detect.even import even_paces, expected, repeats
from pacerail.detect.flips import Candidates, choose_flips
from pacerail.detect.part import Part
from pacerail.detect.scan import CERTAIN_SEAM, SEEN_CHANGE

WINDOW = 45
"""Refreshes to each side over which signs of tears are counted."""
PARTED, SURELY_PARTED = 0.5, 1.4
"""Evidence per band with which a refresh and one of the next change in opposite parts, and that
of it and the very next. Of 29 000 refreshes without tears 3 in 2000 pass the first, and none comes
to more than 1.21 of the second, after a cut (corpus of the accuracy bench and others like it)."""
COMPLETED, BEGUN, CONTRARY = 4.0, 20.0, 1.0
"""Evidence that little but all that moves above a row is held in a refresh and changed in the next,
that all below is changed and then held, and the most against either: a tear in a plain sky with a
bird in it. With sync on none of 50 000 refreshes comes to as much often enough to count."""
FREQUENT_SHARE = 0.06
"""Share of refreshes with a sign from which a stretch is searched for tears."""
SEAM_SHARE = 0.1
"""The same of seams, among the refreshes in which they were looked for."""
CLEAR_MIRROR, MIRROR_SHARE = 1.0, 0.25
"""Octaves of a mirror that is a sign of a tear, and the share of refreshes with one. Without
tears not one of 60 clips comes to more than a third of that."""
REACH = 8
"""Refreshes around a lone sign of a tear that are searched with it."""
CLEAN_COST = 2.0
TEAR_COST = 8.0
MIRROR_GAIN = 5.0
"""Costs in the units of the evidence: a mirror of one octave nearly pays for a tear, two
octaves pay for it without any other evidence."""
SEAM_GAIN = 40.0
"""A seam across a fifth of the width pays for a tear."""
MOST_TORN_TOGETHER = 3
"""Flips that follow each other so closely that no band is held between them, and still show
where the first and the last of them tore."""
SPLIT_COST = 9.0
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
SILENT, VAGUE_SHARE = 1.0, 1 / 30
"""Evidence of a band that tells neither of two refreshes to have changed or not, and the share of
the height that such bands cover at most around a tear whose row they tell."""


def torn_stretches(part: Part, evidence: NDArray[np.float64]) -> list[tuple[int, int]]:
    """Half-open intervals of places in which flips must be searched row by row.

    evidence : (n, bands) as from `band_evidence`.
    """
    n = len(evidence)
    is_parted = _peaks(_parted(evidence, MOST_TORN_TOGETHER)) > PARTED
    is_parted |= _is_completed(evidence, MOST_TORN_TOGETHER)
    has_seam = np.zeros(n, bool)
    has_seam[part.tear_rows.place[part.tear_rows.seam > CERTAIN_SEAM]] = True
    has_mirror = np.zeros(n, bool)
    has_mirror[part.tear_rows.place[part.tear_rows.mirror_octaves > CLEAR_MIRROR]] = True
    is_sign = is_parted | has_seam | has_mirror
    # A still refresh, in which no seam is looked for, speaks against tears as well.
    looked = part.sought | (part.strongest < SEEN_CHANGE)
    refreshes = _nearby(np.ones(n))
    is_frequent = (
        (_nearby(is_parted) >= FREQUENT_SHARE * refreshes)
        | (_nearby(has_seam) >= SEAM_SHARE * _nearby(looked))
        | (_nearby(has_mirror) >= MIRROR_SHARE * refreshes)
    )
    inside = np.zeros(n + 1, int)
    for places, reach in (
        (np.flatnonzero(is_sign & is_frequent), WINDOW),
        (np.flatnonzero(_parted(evidence, 1) > SURELY_PARTED), REACH),
    ):
        np.add.at(inside, np.maximum(places - reach, 0), 1)
        np.add.at(inside, np.minimum(places + reach + 1, n), -1)
    covered = np.concatenate([[False], np.cumsum(inside)[:n] > 0, [False]])
    edges = np.flatnonzero(np.diff(covered.astype(int)))
    return list(zip(edges[0::2].tolist(), edges[1::2].tolist(), strict=True))


def _peaks(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n,) values that none beside them exceeds, 0 elsewhere: one event is one sign."""
    beside = np.pad(values, 1, constant_values=-np.inf)
    is_peak = (values > beside[:-2]) & (values >= beside[2:])
    return np.where(is_peak, values, 0)


def _nearby(values: NDArray[Any]) -> NDArray[np.float64]:
    """(n,) sum over `WINDOW` refreshes to each side, and the refresh itself."""
    total = np.concatenate([[0.0], np.cumsum(values)])
    index = np.arange(len(values))
    result: NDArray[np.float64] = (
        total[np.minimum(index + WINDOW + 1, len(values))] - total[np.maximum(index - WINDOW, 0)]
    )
    return result


def flips_in_stretch(
    part: Part,
    evidence: NDArray[np.float64],
    period_rows: float,
    stretch: tuple[int, int],
) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]]:
    """Place and tear row of every flip in a stretch of a part, and where else it may lie.

    evidence : (n, bands) as from `band_evidence`.
    Returns (m,), (m,) and (m, 2): the rows between which nothing tells where a tear lies, 0 and 0
    where its row is told.
    """
    first, end = stretch
    compared = part.compared[first:end]
    evidence = evidence[first:end]
    candidates = _candidates(part, evidence, compared, stretch)
    rows = part.layout.rows
    given = evidence, part.layout.band_rows, period_rows, HELD_SHARE * rows
    chosen = choose_flips(candidates, *given)
    moment = candidates.refresh[chosen] + candidates.row[chosen] / period_rows
    is_vague = _vague_rows(candidates, chosen, evidence, part)[:, 1] > 0
    is_known = (candidates.row[chosen] > 0) & ~is_vague
    paces = even_paces(moment, 0, end - first, is_known)
    if paces:
        candidates = expected(candidates, paces, compared, rows, period_rows, SPLIT_COST)
        chosen = choose_flips(candidates, *given)
        moment = candidates.refresh[chosen] + candidates.row[chosen] / period_rows
        chosen = chosen[~repeats(moment, paces)]
    between = _vague_rows(candidates, chosen, evidence, part)
    return candidates.refresh[chosen] + first, candidates.row[chosen], between


def _vague_rows(
    candidates: Candidates,
    chosen: NDArray[np.int64],
    evidence: NDArray[np.float64],
    part: Part,
) -> NDArray[np.float64]:
    """(m, 2) first and end row of the bands around each flip that tell nothing of its row.

    They tell neither what is held above it and changed below, nor the other way round in the
    next refresh. 0 and 0 where they are few, or something else tells the row.
    """
    place, row = candidates.refresh[chosen], candidates.row[chosen]
    band_rows = part.layout.band_rows
    following = np.concatenate([evidence[1:], np.zeros((1, evidence.shape[1]))])
    tells = np.maximum(np.abs(evidence), np.abs(following))[place] >= SILENT
    bands = np.arange(evidence.shape[1])
    own = np.clip(np.searchsorted(band_rows, row, side="right") - 1, 0, len(bands) - 1)[:, None]
    above = np.where(tells & (bands < own), bands, -1).max(axis=1) + 1
    below = np.where(tells & (bands >= own), bands, len(bands)).min(axis=1)
    between = np.stack([band_rows[above], band_rows[below]], axis=1)
    is_wide = np.ptp(between, axis=1) > VAGUE_SHARE * part.layout.rows
    between[~(is_wide & candidates.by_bands[chosen])] = 0
    return between


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
    clean = (places, none, none - CLEAN_COST, none, none)
    torn = (
        tears.place[inside] - first,
        tears.row[inside],
        SEAM_GAIN * np.maximum(tears.seam, np.where(tears.stands_out, tears.joint, 0))[inside]
        - TEAR_COST,
        MIRROR_GAIN * np.minimum(tears.mirror_octaves[inside], 2.5),
        np.zeros(inside.sum()),
    )
    split_place, edge = _split_edges(evidence)
    shift = part.layout.row_step * part.edge_shift[first:end][split_place, edge]
    split_row = part.layout.band_rows[1:-1][edge] + shift
    none = np.zeros(len(split_place))
    split = (split_place, split_row, none - SPLIT_COST, none, none + 1)
    columns = [np.concatenate(column) for column in zip(clean, torn, split, strict=True)]
    order = np.lexsort((columns[1], columns[0]))
    order = order[compared[columns[0][order]]]
    place, row, reward, lone_reward, by_bands = (column[order] for column in columns)
    return Candidates(place, row, reward, lone_reward, by_bands > 0)


def band_evidence(
    distance: NDArray[np.float64], compared: NDArray[np.bool_]
) -> NDArray[np.float64]:
    """(n, bands) evidence for change; stillness counts only where there was motion.

    distance : (n, bands) octaves of change beyond what separates it from noise.
    compared : (n,) False where there is no evidence.
    """
    beyond = np.sign(distance) * np.maximum(
        np.abs(distance) - np.where(distance > 0, 0.6, 1.0) * DEAD_OCTAVES, 0
    )
    score = 2.0 * beyond
    active = np.full_like(score, -np.inf)
    for lag in range(1, ACTIVE_REACH + 1):
        active[lag:] = np.maximum(active[lag:], score[:-lag])
        active[:-lag] = np.maximum(active[:-lag], score[lag:])
    floor = -np.clip(active, 0.02, EVIDENCE_LIMIT)
    evidence: NDArray[np.float64] = np.clip(score, floor, EVIDENCE_LIMIT)
    evidence[~compared] = 0
    return evidence


def _parted(evidence: NDArray[np.float64], most_lag: int) -> NDArray[np.float64]:
    """(n,) evidence per band that a refresh changes below some row, and a later one above it.

    The lesser of what the bands above the best row say and what those below say. The later
    one follows within `most_lag` refreshes; all bands change in those between.
    """
    n, bands = evidence.shape
    parted = np.zeros(n)
    all_changed = np.full(n, np.inf)
    for lag in range(1, most_lag + 1):
        later = np.zeros_like(evidence)
        later[: n - lag] = evidence[lag:]
        difference = later - evidence
        above = np.cumsum(difference, axis=1)[:, :-1]
        below = -np.cumsum(difference[:, ::-1], axis=1)[:, -2::-1]
        apart = np.minimum(above, below).max(axis=1, initial=0) / bands
        np.maximum(parted, np.minimum(apart, all_changed), out=parted)
        all_changed = np.minimum(all_changed, later.mean(axis=1))
    return parted


def _is_completed(evidence: NDArray[np.float64], most_lag: int) -> NDArray[np.bool_]:
    """(n,) whether nothing contradicts that a later refresh completes what this one began.

    Above some row what moves at all is held and then changed, below it changed and then held.
    The later one follows within `most_lag` refreshes; in those between all that moves changes.
    """
    n = len(evidence)
    is_completed, held_between = np.zeros(n, bool), np.zeros(n)
    for lag in range(1, min(most_lag, n - 1) + 1):
        own, later = evidence[:-lag], evidence[lag:]
        completed = _up_to_edges(np.minimum(later, -own))
        begun = _from_edges(np.minimum(own, -later))
        contrary = np.maximum(_up_to_edges(own), _from_edges(later))
        is_told = (completed >= COMPLETED) & (begun >= BEGUN) & (contrary <= CONTRARY)
        is_completed[:-lag] |= is_told.any(axis=1) & (held_between[:-lag] <= CONTRARY)
        held_between[:-lag] += np.maximum(-later, 0).sum(axis=1)
    return is_completed


def _up_to_edges(evidence: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n, bands - 1) sum over the bands above each edge of what speaks for."""
    result: NDArray[np.float64] = np.cumsum(np.maximum(evidence, 0), axis=1)[:, :-1]
    return result


def _from_edges(evidence: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n, bands - 1) the same over the bands below each edge."""
    return _up_to_edges(evidence[:, ::-1])[:, ::-1]


def _split_edges(
    evidence: NDArray[np.float64],
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Places, and for each the number of the band edge that best parts held from changed bands.

    A flip there changes what lies below the edge, and in the next refresh what lies above.
    Where flips follow each other closely, only one of the two is to be seen, so each counts
    alone as well, and of what lies above the edge the part next to it.
    """
    following = np.concatenate([evidence[1:], np.zeros((1, evidence.shape[1]))])
    held_above = np.cumsum(-evidence, axis=1)[:, :-1]
    least = np.minimum.accumulate(np.pad(held_above, ((0, 0), (1, 0))), axis=1)[:, :-1]
    held_just_above = held_above - least
    completed_above = np.cumsum(following, axis=1)[:, :-1]
    position = np.arange(held_above.shape[1])
    places, edges = [], []
    for gain in (
        held_above + completed_above,
        held_above,
        held_just_above,
        completed_above,
    ):
        best = gain.max(axis=1, keepdims=True)
        # Bands without evidence could lie on either side: the middle of them errs least.
        is_best = gain >= best - SPLIT_SLACK
        middle = (is_best * position).sum(axis=1) // is_best.sum(axis=1)
        useful = np.flatnonzero(best[:, 0] > 0)
        places.append(useful)
        edges.append(middle[useful])
    both = np.unique(np.stack([np.concatenate(places), np.concatenate(edges)]), axis=1)
    return both[0], both[1]
