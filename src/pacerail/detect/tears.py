"""From changes per band and possible tear rows to flips with their tear rows.

Within a stretch that shows tears every place is tried at which a flip is possible: clean, at a
row that the pictures show, or at an edge between bands; and the set of flips is chosen that
explains best what changed.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from pacerail.detect.even import even_paces, expected, repeats
from pacerail.detect.flips import Candidates, choose_flips
from pacerail.detect.neighbours import mean_within
from pacerail.detect.part import Part

CLEAN_COST = 2.0
TEAR_COST = 8.0
MIRROR_GAIN = 5.0
"""Costs in the units of the evidence: a mirror of one octave nearly pays for a tear, two
octaves pay for it without any other evidence."""
SEAM_GAIN = 40.0
"""A seam across a fifth of the width pays for a tear."""
CLEAN_REACH, CLEAN_SHARE, DOUBT = 15, 0.5, 8.0
"""Flips to each side, the share of clean ones among them from which a seam with motion above it is
doubted, and what it costs more then: a program that waits for the refresh seldom flips twice in
one, and a frame that comes late leaves what is above its tear held."""
PAUSED_BANDS, PAUSED = 3, -3.0
"""Bands above a tear, and what they say if they are held there."""
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
ACTIVE_REACH = 6
"""Refreshes before and after in which a band must have changed for its stillness to mean anything:
a number that counts up at the top of the picture changes once and says nothing of those beside."""
SILENT, VAGUE_SHARE = 1.0, 1 / 30
"""Evidence of a band that tells neither of two refreshes to have changed or not, and the share of
the height that such bands cover at most around a tear whose row they tell."""


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
    is_doubted = _doubted(candidates, chosen, evidence, part)
    if is_doubted.any():
        candidates = replace(candidates, reward=candidates.reward - DOUBT * is_doubted)
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


def _doubted(
    candidates: Candidates,
    chosen: NDArray[np.int64],
    evidence: NDArray[np.float64],
    part: Part,
) -> NDArray[np.bool_]:
    """(candidates,) seams with motion above and nothing else to speak for them, where most of the
    chosen flips are clean."""
    if not len(chosen):
        return np.zeros(len(candidates.row), bool)
    band = np.searchsorted(part.layout.band_rows, candidates.row, side="right") - 1
    within = np.cumsum(np.pad(evidence, ((0, 0), (1, 0))), axis=1)
    above = np.maximum(band - PAUSED_BANDS, 0)
    paused = within[candidates.refresh, band] - within[candidates.refresh, above] <= PAUSED
    is_seam = (candidates.row > 0) & ~candidates.by_bands & (candidates.lone_reward == 0)
    is_mere = is_seam & ~paused
    clean = mean_within(candidates.row[chosen] == 0, CLEAN_REACH)
    mostly_clean = clean > CLEAN_SHARE * mean_within(~is_mere[chosen], CLEAN_REACH)
    nearest = np.searchsorted(candidates.refresh[chosen], candidates.refresh)
    is_doubted: NDArray[np.bool_] = is_mere & mostly_clean[np.minimum(nearest, len(chosen) - 1)]
    return is_doubted


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
    before, after = np.full_like(score, -np.inf), np.full_like(score, -np.inf)
    for lag in range(1, ACTIVE_REACH + 1):
        before[lag:] = np.maximum(before[lag:], score[:-lag])
        after[:-lag] = np.maximum(after[:-lag], score[lag:])
    # Of what came before the first picture and comes after the last nothing is known.
    before[:ACTIVE_REACH] = np.inf
    after[-1:] = np.inf
    floor = -np.clip(np.minimum(before, after), 0.02, EVIDENCE_LIMIT)
    evidence: NDArray[np.float64] = np.clip(score, floor, EVIDENCE_LIMIT)
    evidence[~compared] = 0
    return evidence


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
