"""New frames in every second refresh: a regular pattern tells more than the size of a change.

Changes go up and down by turns then. So they may where B pictures alternate with others, as coding
differs from one to the next; where both come together nothing is told.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.float64]
Mask: TypeAlias = NDArray[np.bool_]

REACH, ALTERNATING_SHARE = 30, 0.9
"""Refreshes to each side, and the share of them that stand out from both beside or stay below."""
ALTERNATING_KINDS = 0.75
"""Share of changes from B pictures to others and back from which these may be why."""
PARTED, PARTED_OCTAVES = 9, 1.0
"""Refreshes in a row of which every second is above all others, and the least step between."""
NEARLY_OCTAVES = 0.6
"""Octaves below the threshold from which, where changes alternate, one larger than both beside it
is new. (In clips with sync on, steady or with stalls, 39 of 39 such changes; of those further below
4 of 52.)"""


def alternates(level: Floats, is_bidirectional: Mask) -> Mask:
    """(n, 1) where nearly every change is larger, or smaller, than both beside it.

    So it is where a new frame comes in every second refresh; else two of three are.

    level : (n, bands) log2 of the change in code values.
    is_bidirectional : (n,) True for B pictures.
    """
    length = 2 * REACH + 1
    if len(level) < length:
        return np.zeros((len(level), 1), bool)
    rises = np.diff(level.mean(axis=1)) > 0
    turns = np.pad(rises[1:] != rises[:-1], 1)
    share = sliding_window_view(turns, length).mean(axis=-1)
    is_alternating = (share > ALTERNATING_SHARE) & ~_kinds_alternate(is_bidirectional, length)
    return np.pad(is_alternating, REACH, mode="edge")[:, None]


def nearly_above(level: Floats, threshold: Floats) -> Mask:
    """(n, bands) changes larger than both beside them and nearly above the threshold.

    level, threshold : (n, bands) log2 of the change, and of the least that is one of content.
    """
    beside = np.pad(level, ((1, 1), (0, 0)), constant_values=-np.inf)
    is_peak = level > np.maximum(beside[:-2], beside[2:])
    nearly: Mask = is_peak & (level > threshold - NEARLY_OCTAVES)
    return nearly


def parted_by_turns(level: Floats, compared: Mask, is_bidirectional: Mask) -> Mask:
    """(n, bands) changes that a clear step parts from those in between, several in a row.

    Those are new frames, though all of them may be small beside what moves soon after. (Of 14 000
    changes so parted in clips with sync on, two were held.)

    level : (n, bands) log2 of the change in code values.
    compared, is_bidirectional : (n,) of which the last tells B pictures.
    """
    parted = np.zeros(level.shape, bool)
    if len(level) < PARTED:
        return parted
    windows = sliding_window_view(level, PARTED, axis=0)
    are_compared = sliding_window_view(compared, PARTED).all(axis=-1)
    tells = (are_compared & ~_kinds_alternate(is_bidirectional, PARTED))[:, None]
    for first in (0, 1):
        upper, lower = windows[..., first::2], windows[..., 1 - first :: 2]
        is_parted = tells & (upper.min(axis=-1) - lower.max(axis=-1) >= PARTED_OCTAVES)
        for place in range(first, PARTED, 2):
            parted[place : place + len(is_parted)] |= is_parted
    return parted


def _kinds_alternate(is_bidirectional: Mask, length: int) -> Mask:
    """(n - length + 1,) whether B pictures and others alternate in so many refreshes."""
    turns = np.pad(is_bidirectional[1:] != is_bidirectional[:-1], (1, 0))
    share = sliding_window_view(turns, length).mean(axis=-1)
    alternate: Mask = share >= ALTERNATING_KINDS
    return alternate
