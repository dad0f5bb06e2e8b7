"""From changes per band and mirror rows to flips with their tear rows.

Only stretches that show tears at all are searched: elsewhere every flip is clean and
falls in a refresh that changed. A stretch is one where mirror rows are frequent, or a
few are beyond doubt.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacerail.detect.flips import Candidates, choose_flips
from pacerail.detect.thresholds import Thresholds

WINDOW = 45
"""Refreshes to each side over which mirror rows are counted."""
FREQUENT_OCTAVES, FREQUENT_COUNT = 1.0, 3
"""Mirrors of a factor of two come by chance in less than 1 of 100 refreshes without
tears (measured), so three within a window do not."""
REACH = 8
"""Refreshes around a mirror row that are searched with it."""
CLEAN_COST = 2.0
TEAR_COST = 6.0
MIRROR_GAIN = 5.0
"""Costs in the units of the evidence: a mirror of one octave nearly pays for a tear, two
octaves pay for it without any other evidence."""
SPLIT_COST = 7.0
"""A tear whose row only the bands tell."""
DEAD_OCTAVES = 1.0
"""Changes this close to the threshold say nothing, twice as far they say all."""
EVIDENCE_LIMIT = 6.0
"""One band may not outweigh all others."""
ACTIVE_REACH = 3
"""Refreshes in which a band must have changed for its stillness to mean anything."""


@dataclass(frozen=True, eq=False)
class MirrorRows:
    """Mirror rows of all refreshes, as parallel columns in order of refresh."""

    refresh: NDArray[np.int64]
    row: NDArray[np.float64]
    octaves: NDArray[np.float64]


def torn_stretches(mirrors: MirrorRows, refreshes: int) -> list[tuple[int, int]]:
    """Half-open refresh intervals in which flips must be searched row by row."""
    strongest = np.zeros(refreshes)
    np.maximum.at(strongest, mirrors.refresh, mirrors.octaves)
    is_seen = strongest >= FREQUENT_OCTAVES
    total = np.concatenate([[0], np.cumsum(is_seen)])
    index = np.arange(refreshes)
    last, first = np.minimum(index + WINDOW + 1, refreshes), np.maximum(index - WINDOW, 0)
    counted = is_seen & (total[last] - total[first] >= FREQUENT_COUNT)
    inside = np.zeros(refreshes + 1, int)
    for refresh in np.flatnonzero(counted).tolist():
        inside[max(refresh - REACH, 0)] += 1
        inside[min(refresh + REACH + 1, refreshes)] -= 1
    covered = np.concatenate([[False], np.cumsum(inside)[:refreshes] > 0, [False]])
    edges = np.flatnonzero(np.diff(covered.astype(int)))
    return list(zip(edges[0::2].tolist(), edges[1::2].tolist(), strict=True))


def flips_in_stretch(
    bands: NDArray[np.float64],
    thresholds: Thresholds,
    compared: NDArray[np.bool_],
    mirrors: MirrorRows,
    band_rows: NDArray[np.float64],
    period_rows: float,
    stretch: tuple[int, int],
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Refresh and tear row of every flip in a stretch.

    bands : (n, bands) log2 change of each band over the whole capture.
    band_rows : (bands + 1,) edges of the bands in picture rows.
    """
    first, end = stretch
    evidence = _band_evidence(bands[first:end], thresholds.threshold[first:end])
    evidence[~compared[first:end]] = 0
    inside = (mirrors.refresh >= first) & (mirrors.refresh < end)
    refreshes = np.arange(end - first)
    split_row, split_gain = _split_rows(evidence, band_rows)
    columns = [
        (refreshes, np.zeros(len(refreshes)), np.full(len(refreshes), -CLEAN_COST)),
        (
            mirrors.refresh[inside] - first,
            mirrors.row[inside],
            MIRROR_GAIN * np.minimum(mirrors.octaves[inside], 2.5) - TEAR_COST,
        ),
        (
            refreshes[split_gain > 0],
            split_row[split_gain > 0],
            np.full(np.count_nonzero(split_gain > 0), -SPLIT_COST),
        ),
    ]
    refresh = np.concatenate([column[0] for column in columns])
    row = np.concatenate([column[1] for column in columns])
    reward = np.concatenate([column[2] for column in columns])
    reward = np.where(compared[first:end][refresh], reward, -np.inf)
    order = np.lexsort((row, refresh))
    candidates = Candidates(refresh[order], row[order], reward[order])
    chosen = choose_flips(candidates, evidence, band_rows, period_rows)
    return candidates.refresh[chosen] + first, candidates.row[chosen]


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
    best = gain.argmax(axis=1)
    return band_rows[1:-1][best], np.take_along_axis(gain, best[:, None], axis=1)[:, 0]
