"""Rows at which a change breaks off and is completed by the next refresh.

With sync off, a flip while row y is scanned changes the rows from y on in that refresh
and the rows above y in the next one. The two change profiles are each other's mirror
image at the same row. Local motion does not do that: what moves above y in one refresh
and below it in the next would have to stop at exactly the same line, right across the
picture.
"""

from __future__ import annotations

from functools import cached_property, lru_cache
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from pacerail.detect.change import Change

Floats: TypeAlias = NDArray[np.float32]
Mask: TypeAlias = NDArray[np.bool_]
Rows: TypeAlias = NDArray[np.int64]

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
HINT_RATIO = 1.2
"""The same for a first look at bands, which blur the tear and the edge of the picture."""
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


class Profile:
    """How a change spreads over the rows: what is compared with the refreshes beside it.

    Each is worked out when first asked for and serves two refreshes, this and the one before.
    It must be asked for while the sums of the change still hold.
    """

    def __init__(self, change: Change) -> None:
        self.change = change

    @property
    def groups(self) -> int:
        """Column groups that vote."""
        return self.change.groups

    @property
    def rows(self) -> int:
        """Rows that were compared."""
        return len(self.change.sums)

    @cached_property
    def beside_bands(self) -> tuple[Floats, Floats]:
        """Mean change above and below each edge between bands."""
        return _means_beside(self.change.levels, *_band_edges(len(self.change.levels)))

    @cached_property
    def beside_widely(self) -> tuple[Floats, Floats]:
        """Mean energy above and below each row inside the edges, at large."""
        return _means_beside(self.across, *_wide_rows(self.rows))

    @cached_property
    def across(self) -> Floats:
        """(rows,) mean energy of the column groups."""
        energy: Floats = np.mean(self._energy, axis=0)
        return energy

    def beside_closely(self, row: Rows) -> tuple[Floats, Floats]:
        """(groups, len(row)) mean energy of up to `SIDE_ROWS` rows above and below each row."""
        top, bottom = np.maximum(row - SIDE_ROWS, 0), np.minimum(row + SIDE_ROWS, self.rows)
        total = self._energy_up_to
        tall, deep = (row - top).astype(np.float32), (bottom - row).astype(np.float32)
        at_row = total.take(row, axis=1)
        return (at_row - total.take(top, axis=1)) / tall, (
            total.take(bottom, axis=1) - at_row
        ) / deep

    @cached_property
    def _energy(self) -> Floats:
        """(groups, rows) root mean square block-row difference per column group."""
        return self.change.row_energy()

    @cached_property
    def _energy_up_to(self) -> Floats:
        """(groups, rows + 1) energy summed over the rows above each."""
        total: Floats = np.zeros((self.groups, self.rows + 1), np.float32)
        np.cumsum(self._energy, axis=1, out=total[:, 1:])
        return total


def mirror_rows(profile: Profile, following: Profile) -> tuple[Rows, Floats]:
    """Candidate tear rows of a refresh, with the strength of the mirror at each.

    profile, following : of the change of this refresh and of the next.
    Returns rows and strengths in octaves, strongest first, at most `CANDIDATES` of them.
    """
    nothing = np.empty(0, np.int64), np.empty(0, np.float32)
    if profile.groups < MIN_GROUPS or profile.rows < 4 * SIDE_ROWS:
        return nothing
    # Bands first: they are to hand, and blur the tear and the edge of the picture.
    if not _hints(profile.beside_bands, following.beside_bands):
        return nothing
    # Stripes of little texture look held next to their edges, but not across their width.
    parted = _parts(profile.beside_widely, following.beside_widely, WIDE_RATIO)
    row = np.flatnonzero(parted) + EDGE_ROWS
    if not len(row):
        return nothing
    above, below = profile.beside_closely(row)
    next_above, next_below = following.beside_closely(row)
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
    strength[(voters < 2) | (agreeing < AGREEING_SHARE * voters)] = 0
    rows_found: list[int] = []
    strengths: list[float] = []
    for _ in range(CANDIDATES):
        best = int(strength.argmax())
        if strength[best] <= 0:
            break
        rows_found.append(int(row[best]))
        strengths.append(float(strength[best]))
        strength[np.abs(row - row[best]) < APART_ROWS] = 0
    exact = _turning_rows(np.array(rows_found, np.int64), SIDE_ROWS, profile, following)
    return exact, np.array(strengths, np.float32)


def _turning_rows(row: Rows, reach: int, profile: Profile, following: Profile) -> Rows:
    """Near each row of a mirror the one at which it turns.

    Averages of several rows have a flat peak. The logarithms of how the two changes compare,
    added up from the top, are lowest at the row where the sign turns.

    row : (m,) of the rows compared, counted at the boundary above each.
    reach : rows to each side that are looked at.
    """
    turned = np.cumsum(_compared(profile, following))
    near = _rows_near(row, reach, profile.rows)
    best = turned[near - 1].argmin(axis=1)
    parting: Rows = near[np.arange(len(row)), best]
    return parting


def parting_rows(row: Rows, reach: int, profile: Profile, following: Profile) -> Rows:
    """Near each row the one that best parts what is held now from what changes now.

    What is held changes next. What changes now may be held next, or move on, as it does under a
    frame that comes late; so the row is that above and below which the logarithms of how the two
    changes compare differ most in their means, beyond chance.

    row : (m,) of the rows compared, counted at the boundary above each.
    reach : rows to each side that are looked at; as many more are compared with them.
    """
    up_to = np.zeros(profile.rows + 1, np.float32)
    np.cumsum(_compared(profile, following), out=up_to[1:])
    near = _rows_near(row, reach, profile.rows)
    top = np.maximum(row - 2 * reach, 0)[:, None]
    end = np.minimum(row + 2 * reach, profile.rows)[:, None]
    tall, deep = near - top, end - near
    # The likelihood ratio of a step in the mean of samples that scatter evenly.
    step = up_to[near] - up_to[top] - (up_to[end] - up_to[top]) * tall / (end - top)
    best = (step / np.sqrt(np.maximum(tall * deep, 1))).argmin(axis=1)
    parting: Rows = near[np.arange(len(row)), best]
    return parting


def _compared(profile: Profile, following: Profile) -> Floats:
    """(rows,) octaves by which each row changes more now than next."""
    noise = np.float32(NOISE_CODES)
    octaves: Floats = np.log2((profile.across + noise) / (following.across + noise))
    return octaves


def _rows_near(row: Rows, reach: int, rows: int) -> Rows:
    """(m, 2 * reach + 1) each row and those around it, inside the edges of so many rows."""
    near = row[:, None] + np.arange(-reach, reach + 1)
    return near.clip(EDGE_ROWS, rows - EDGE_ROWS)


def _hints(beside: tuple[Floats, Floats], next_beside: tuple[Floats, Floats]) -> bool:
    """Whether bands show a mirror.

    A tear in the last band parts that band itself: there it must do that only that band changes,
    and then those above it.
    """
    (above, below), (next_above, next_below) = beside, next_beside
    begins, completes = below > HINT_RATIO * above, next_above > HINT_RATIO * next_below
    at_foot = begins[-1] and below[-1] > ACTIVE_CODES and next_above[-1] > HINT_RATIO * above[-1]
    return bool(at_foot or (begins & completes).any())


def _parts(beside: tuple[Floats, Floats], next_beside: tuple[Floats, Floats], ratio: float) -> Mask:
    """Where a refresh is held above and changed below, and the next the other way round."""
    (above, below), (next_above, next_below) = beside, next_beside
    parted: Mask = (below > ratio * above) & (next_above > ratio * next_below)
    return parted


@lru_cache(maxsize=4)
def _band_edges(bands: int) -> tuple[Rows, Rows, Rows, Rows]:
    """Start and end of the bands at large above and below each edge between bands."""
    reach = max(round(WIDE_SHARE * bands), 3)
    edge = np.arange(1, bands)
    return np.maximum(edge - reach, 0), edge, edge, np.minimum(edge + reach, bands)


@lru_cache(maxsize=4)
def _wide_rows(rows: int) -> tuple[Rows, Rows, Rows, Rows]:
    """Start and end of the rows at large above and below each row inside the edges."""
    row = np.arange(EDGE_ROWS, rows - EDGE_ROWS + 1)
    reach = max(int(WIDE_SHARE * rows), 4 * SIDE_ROWS)
    above_end, below_start = np.maximum(row - GUARD_ROWS, 1), np.minimum(row + GUARD_ROWS, rows - 1)
    top = np.minimum(np.maximum(row - reach, 0), above_end - 1)
    bottom = np.maximum(np.minimum(row + reach, rows), below_start + 1)
    return top, above_end, below_start, bottom


def _means_beside(
    profile: Floats, top: Rows, above_end: Rows, below_start: Rows, bottom: Rows
) -> tuple[Floats, Floats]:
    """Mean of a profile over [top, above_end) and [below_start, bottom), noise added."""
    total: NDArray[Any] = np.zeros(len(profile) + 1, np.float32)
    np.cumsum(profile, out=total[1:])
    noise = np.float32(NOISE_CODES)
    above: Floats = (total[above_end] - total[top]) / (above_end - top).astype(np.float32)
    below: Floats = (total[bottom] - total[below_start]) / (bottom - below_start).astype(np.float32)
    return above + noise, below + noise
