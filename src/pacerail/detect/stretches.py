"""Where flips are searched row by row: stretches that show tears at all.

Elsewhere every flip is clean and falls in a refresh that changed. Three signs show tears: a
refresh that changes below a row while the next one changes above it, what moves all the time but
pauses above a row, and strong seams.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from pacerail.detect.neighbours import mean_within
from pacerail.detect.part import Part
from pacerail.detect.scan import CERTAIN_SEAM, SEEN_CHANGE
from pacerail.runs import runs

WINDOW = 45
"""Refreshes to each side over which signs of tears are counted."""
PARTED, SURELY_PARTED = 0.5, 1.4
"""Evidence per band with which a refresh and one of the next change in opposite parts, and that
of it and the very next. Of 29 000 refreshes without tears 3 in 2000 pass the first, and none comes
to more than 1.21 of the second, after a cut (corpus of the accuracy bench and others like it)."""
COMPLETED, SURELY_COMPLETED, BEGUN, CONTRARY = 2.0, 4.0, 10.0, 2.0
"""Evidence that little but all that moves above a tear is held in a refresh and changed in the
next, as one of many and alone, that all below is changed and then held, and the most against
either: a tear in a plain sky with a bird in it. With sync on not one of 114 000 refreshes comes to
as much."""
LATE, SURELY_LATE = 6.0, 10.0
"""Evidence that a frame came late in its refresh, among others of the kind and alone. With sync on
15 and 4 of 114 000 refreshes come to as much, all in soft film that is hard to measure at all."""
FREQUENT_SHARE = 0.06
"""Share of refreshes with a sign from which a stretch is searched for tears."""
SEAM_SHARE = 0.1
"""The same of seams, among the refreshes in which they were looked for."""
CLEAR_MIRROR, MIRROR_SHARE = 1.0, 0.25
"""Octaves of a mirror that is a sign of a tear, and the share of refreshes with one. Without
tears not one of 60 clips comes to more than a third of that."""
REACH = 8
"""Refreshes around a lone sign of a tear that are searched with it."""
MOST_TORN_TOGETHER = 3
"""Flips that follow each other so closely that no band is held between them, and still show
where the first and the last of them tore."""


def torn_stretches(part: Part, evidence: NDArray[np.float64]) -> list[tuple[int, int]]:
    """Half-open intervals of places in which flips must be searched row by row.

    evidence : (n, bands) as from `band_evidence`.
    """
    n = len(evidence)
    # What the last picture holds the next may hold as well: a tear that nothing completes.
    evidence = np.concatenate([evidence[:-1], np.maximum(evidence[-1:], 0)])
    is_parted = _peaks(_parted(evidence, MOST_TORN_TOGETHER)) > PARTED
    is_parted |= _is_completed(evidence, MOST_TORN_TOGETHER, COMPLETED)
    late = _late(evidence, part.is_intra)
    has_seam = np.zeros(n, bool)
    has_seam[part.tear_rows.place[part.tear_rows.seam > CERTAIN_SEAM]] = True
    has_mirror = np.zeros(n, bool)
    has_mirror[part.tear_rows.place[part.tear_rows.mirror_octaves > CLEAR_MIRROR]] = True
    is_sign = is_parted | (late > LATE) | has_seam | has_mirror
    # A still refresh, in which no seam is looked for, speaks against tears as well.
    looked = part.sought | (part.strongest < SEEN_CHANGE)
    refreshes = _nearby(np.ones(n))
    is_frequent = (
        (_nearby(is_parted) >= FREQUENT_SHARE * refreshes)
        | (_nearby(late > LATE) >= FREQUENT_SHARE * refreshes)
        | (_nearby(has_seam) >= SEAM_SHARE * _nearby(looked))
        | (_nearby(has_mirror) >= MIRROR_SHARE * refreshes)
    )
    inside = np.zeros(n + 1, int)
    for places, reach in (
        (np.flatnonzero(is_sign & is_frequent), WINDOW),
        (np.flatnonzero(_parted(evidence, 1) > SURELY_PARTED), REACH),
        (np.flatnonzero((late > SURELY_LATE) & ~_is_near_intra(part.is_intra)), REACH),
        (np.flatnonzero(_is_completed(evidence, 1, SURELY_COMPLETED)), REACH),
    ):
        np.add.at(inside, np.maximum(places - reach, 0), 1)
        np.add.at(inside, np.minimum(places + reach + 1, n), -1)
    return runs(np.cumsum(inside)[:n] > 0)


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


def _is_completed(
    evidence: NDArray[np.float64], most_lag: int, least_completed: float
) -> NDArray[np.bool_]:
    """(n,) whether nothing contradicts that a later refresh completes what this one began.

    Above some band what moves at all is held and then changed, below it changed and then held;
    that band itself may be torn, and change in both. The later one follows within `most_lag`
    refreshes; in those between all that moves changes.

    least_completed : evidence of what lies above.
    """
    n = len(evidence)
    is_completed, held_between = np.zeros(n, bool), np.zeros(n)
    for lag in range(1, min(most_lag, n - 1) + 1):
        own, later = evidence[:-lag], evidence[lag:]
        completed = _above(np.minimum(later, -own))
        begun = _below(np.minimum(own, -later))
        contrary = np.maximum(_above(own), _below(later))
        is_told = (completed >= least_completed) & (begun >= BEGUN) & (contrary <= CONTRARY)
        is_completed[:-lag] |= is_told.any(axis=1) & (held_between[:-lag] <= CONTRARY)
        held_between[:-lag] += np.maximum(-later, 0).sum(axis=1)
    return is_completed


def _late(evidence: NDArray[np.float64], is_intra: NDArray[np.bool_]) -> NDArray[np.float64]:
    """(n,) evidence that a frame came late in a refresh, the next in time, and tore only that one.

    Above some band all is held that changed before and changes after; below it all changes. A
    refresh before an I picture says nothing: that one codes anew what others before it left out.
    """
    before, following = np.zeros_like(evidence), np.zeros_like(evidence)
    before[1:], following[:-1] = evidence[:-1], evidence[1:]
    paused = np.minimum(-evidence, np.minimum(before, following))
    contrary = 2 * np.maximum(_above(evidence), _below(-evidence)) + _above(-following)
    late = (np.minimum(_above(paused), _below(evidence)) - contrary).max(axis=1)
    is_before_intra = np.append(is_intra[1:] & ~is_intra[:-1], [False])
    result: NDArray[np.float64] = np.where(is_before_intra, 0, late)
    return result


def _is_near_intra(is_intra: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """(n,) whether coding of an I picture may show there; not where all are I pictures."""
    near = mean_within(is_intra, REACH) > 0
    return near & ~is_intra.all()


def _above(evidence: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n, bands) sum over the bands above each of what speaks for."""
    total = np.cumsum(np.maximum(evidence, 0), axis=1)
    result: NDArray[np.float64] = np.pad(total[:, :-1], ((0, 0), (1, 0)))
    return result


def _below(evidence: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n, bands) the same over the bands below each."""
    return _above(evidence[:, ::-1])[:, ::-1]
