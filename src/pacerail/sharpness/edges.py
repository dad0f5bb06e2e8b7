"""Steps from one sample to the next: what a picture keeps only if it was never enlarged.

Enlarging spreads a hard edge over more than one gap between samples. A picture in which
edges cross a single gap, at every place alike, is shown at the size it was drawn at. The
reverse is no proof: smoothed edges and lossy coding hide the same thing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacerail.sharpness.trace import Samples

# An edge stands out of noise and of lossy coding by a tenth of the range of luma.
LEAST_STEP = 22.0
# The gaps beside a hard step hold so much of it at most. Bilinear enlargement by N leaves
# 1 - 1 / N there, so 6 % and more are told from none.
LEAST_BESIDE = 0.05
# So many hard steps, so large a share of all edges, in so many of the strips. (Our choice:
# lettering over an enlarged picture must not speak for it.)
LEAST_STEPS = 400
LEAST_SHARE = 0.3
LEAST_STRIPS = 0.75
# Enlarging by repeating whole samples keeps hard steps, but only at multiples of the factor.
FACTORS = (2, 3, 4)
STRIPS = 8


@dataclass(frozen=True, eq=False)
class Steps:
    """Edges along one axis, counted by strip across and by place along."""

    edges: NDArray[np.int64]
    """Shape (strips, gaps)."""
    hard: NDArray[np.int64]
    """Those that cross a single gap."""

    def __add__(self, other: Steps) -> Steps:
        return Steps(self.edges + other.edges, self.hard + other.hard)

    @property
    def are_native(self) -> bool:
        """True when hard steps are common in most strips and at every place alike."""
        hard = int(self.hard.sum())
        if hard < LEAST_STEPS or hard < LEAST_SHARE * self.edges.sum():
            return False
        shares = self.hard.sum(axis=1) / np.maximum(self.edges.sum(axis=1), 1)
        if np.mean(shares >= LEAST_SHARE) < LEAST_STRIPS:
            return False
        along = self.hard.sum(axis=0)
        return all(
            min(along[first::factor].sum() for first in range(factor)) > hard / (2 * factor)
            for factor in FACTORS
        )


def steps(samples: Samples) -> Steps:
    """Edges along the first axis.

    samples : float32, shape (length, width), in code values of 8 bits.
    """
    gaps = np.abs(np.diff(samples, axis=0))
    beside = np.zeros_like(gaps)
    beside[1:] += gaps[:-1]
    beside[:-1] += gaps[1:]
    # A neighbour as large as the gap itself makes an edge of several gaps: counted once.
    edges = gaps >= LEAST_STEP
    edges[1:] &= gaps[1:] >= gaps[:-1]
    edges[:-1] &= gaps[:-1] > gaps[1:]
    hard = edges & (beside <= LEAST_BESIDE * gaps)
    starts = np.linspace(0, gaps.shape[1], STRIPS, endpoint=False).astype(np.intp)
    return Steps(
        *(np.add.reduceat(found, starts, axis=1, dtype=np.int64).T for found in (edges, hard))
    )
