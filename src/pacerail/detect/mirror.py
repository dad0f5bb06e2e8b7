"""Rows at which a change breaks off and is completed by the next refresh.

With sync off, a flip while row y is scanned changes the rows from y on in that refresh
and the rows above y in the next one. The two change profiles are each other's mirror
image at the same row. Local motion does not do that: what moves above y in one refresh
and below it in the next would have to stop at exactly the same line, right across the
picture.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Mask: TypeAlias = NDArray[np.bool_]

SIDE_ROWS = 6
"""Rows averaged on each side: enough to be calm, few enough to stay within the texture
that touches the tear."""
EDGE_ROWS = 2
"""Fewest of them at the edge of the picture: one could be a single badly coded line."""
NOISE_CODES = 0.3
"""Added to every average before ratios are taken, so that rounding noise in flat rows
does not look like a step. Half the noise of a crf 23 copy."""
ACTIVE_CODES = 1.0
"""A group votes where it changes by at least this much on the changed sides."""
WIDE_SHARE = 1 / 12
"""Share of the height looked at on each side for the same parting at large."""
GUARD_ROWS = 8
"""Rows next to the tear left out of it: the codec blocks that straddle the tear."""
WIDE_RATIO = 1.5
"""Least ratio of change between the sides at large."""
MIN_GROUPS = 3
"""A tear crosses the picture; fewer column groups cannot show that."""
AGREEING_SHARE = 0.6
"""Share of the voting groups that must see the step. A tear is seen by all that have
texture there; the rest is room for things that move along with the tear."""
AGREEING_OCTAVES = 0.7
"""Smallest step that counts as seen: a factor of 1.6 in change."""
CANDIDATES = 3
"""Rows kept per refresh; more tears than that in one refresh are not told apart."""
APART_ROWS = 12
"""Two candidates closer than both their sides are one."""


def mirror_rows(
    energy: NDArray[np.float32], next_energy: NDArray[np.float32]
) -> tuple[NDArray[np.int64], NDArray[np.float32]]:
    """Candidate tear rows of a refresh, with the strength of the mirror at each.

    energy, next_energy : (groups, rows) row energy of this refresh and of the next.
    Returns rows and strengths in octaves, strongest first, at most `CANDIDATES` of them.
    """
    groups, rows = energy.shape
    if groups < MIN_GROUPS or rows < 4 * SIDE_ROWS:
        return np.empty(0, np.int64), np.empty(0, np.float32)
    parted = _parts_widely(energy, next_energy)
    if not parted.any():
        return np.empty(0, np.int64), np.empty(0, np.float32)
    above, below = _sides(energy)
    next_above, next_below = _sides(next_energy)
    noise = np.float32(NOISE_CODES)
    # The smaller of two ratios: one logarithm of it instead of one of each.
    ratio = np.minimum(
        (below + noise) / (above + noise), (next_above + noise) / (next_below + noise)
    )
    step = np.log2(ratio)
    votes = (np.minimum(below, next_above) > ACTIVE_CODES) | (
        np.minimum(above + below, next_above + next_below) > 2 * ACTIVE_CODES
    )
    voters = votes.sum(axis=0)
    agreeing = (votes & (step > AGREEING_OCTAVES)).sum(axis=0)
    strength = np.where(votes, np.clip(step, -1, 3), 0).sum(axis=0) / np.maximum(voters, 1)
    strength[~parted | (voters < 2) | (agreeing < AGREEING_SHARE * voters)] = 0
    rows_found: list[int] = []
    strengths: list[float] = []
    for _ in range(CANDIDATES):
        row = int(strength.argmax())
        if strength[row] <= 0:
            break
        rows_found.append(row + EDGE_ROWS)
        strengths.append(float(strength[row]))
        strength[max(row - APART_ROWS, 0) : row + APART_ROWS] = 0
    return np.array(rows_found, np.int64), np.array(strengths, np.float32)


def _parts_widely(energy: NDArray[np.float32], next_energy: NDArray[np.float32]) -> Mask:
    """Where rows further away are held and changed on the same sides as those at the row.

    Stripes of little texture look held next to their edges, but not across their width.
    """
    rows = energy.shape[1]
    row = np.arange(EDGE_ROWS, rows - EDGE_ROWS + 1)
    reach = max(int(WIDE_SHARE * rows), 4 * SIDE_ROWS)
    top, bottom = np.maximum(row - reach, 0), np.minimum(row + reach, rows)
    above_end, below_start = np.maximum(row - GUARD_ROWS, 1), np.minimum(row + GUARD_ROWS, rows - 1)
    top, bottom = np.minimum(top, above_end - 1), np.maximum(bottom, below_start + 1)

    def means(profile: NDArray[np.float32]) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        total = np.pad(np.cumsum(profile), (1, 0))
        return (
            (total[above_end] - total[top]) / (above_end - top) + NOISE_CODES,
            (total[bottom] - total[below_start]) / (bottom - below_start) + NOISE_CODES,
        )

    above, below = means(energy.mean(axis=0))
    next_above, next_below = means(next_energy.mean(axis=0))
    parted: Mask = (below > WIDE_RATIO * above) & (next_above > WIDE_RATIO * next_below)
    return parted


def _sides(energy: NDArray[np.float32]) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Mean energy of up to `SIDE_ROWS` rows above and below each row inside the edges."""
    rows = energy.shape[1]
    row = np.arange(EDGE_ROWS, rows - EDGE_ROWS + 1)
    top, bottom = np.maximum(row - SIDE_ROWS, 0), np.minimum(row + SIDE_ROWS, rows)
    total = np.pad(np.cumsum(energy, axis=1, dtype=np.float32), ((0, 0), (1, 0)))
    above = (total[:, row] - total[:, top]) / (row - top).astype(np.float32)
    below = (total[:, bottom] - total[:, row]) / (bottom - row).astype(np.float32)
    return above, below
