"""Intervals for ratios of sums along time, by circular block bootstrap.

Successive frames depend on each other (a slow stretch makes many late frames at once), so
an interval that takes them as independent is too narrow. The block bootstrap keeps
neighbours together: the segment, closed to a ring, is cut into blocks that start anywhere,
as many are drawn as make up its length, and the ratio is worked out again (Politis and
Romano, "A circular block-resampling procedure for stationary data", 1992).
"""

from __future__ import annotations

from math import sqrt
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from pacerail.stats.intervals import CONFIDENCE
from pacerail.stats.segment import NotMeasurableError

# A block of one second, the window of the frame rate, in a segment of ten; growing with
# the cube root of the length, the order that is best for a variance (Hall, Horowitz and
# Jing, Biometrika 82, 1995, p. 561). The factor is a guess: dependence longer than a
# block is not seen, so the interval is a floor on the doubt.
_BLOCK_S = 1.0
_SEGMENT_S = 10.0
# With fewer blocks than this the quantiles of their resampling mean nothing; common
# practice, no published source.
_FEWEST_BLOCKS = 10
_RESAMPLES = 2000
# Resamples are drawn in batches of about this many blocks, to bound memory.
_BATCH = 200_000
# Any seed does; a fixed one makes the same footage say the same in every run.
_SEED = 20_250_601


def ratio_interval(
    numerator: NDArray[np.float64], denominator: NDArray[np.float64], refresh_hz: float
) -> tuple[float, float]:
    """95 % interval of sum(numerator) / sum(denominator).

    The percentile interval of the resampled ratios, its two sides widened about the ratio
    as Student's t widens a normal interval, for few blocks vary less than many.

    numerator, denominator : shape (n,), one value for each refresh, in order.
    Draws in which the denominator is nought say nothing and are left out.
    Raises NotMeasurableError for fewer than ten blocks or a denominator of nought.
    """
    n = len(numerator)
    block = max(round(_BLOCK_S * (n / refresh_hz / _SEGMENT_S) ** (1 / 3) * refresh_hz), 1)
    blocks = -(-n // block)
    if blocks < _FEWEST_BLOCKS or n < _SEGMENT_S * refresh_hz - 1e-6:
        raise NotMeasurableError(f"an interval takes {_SEGMENT_S:g} s or more")
    sums = [_block_sums(column, block) for column in (numerator, denominator)]
    random = np.random.default_rng(_SEED)
    batch = max(_BATCH // blocks, 1)
    ratios = []
    for first in range(0, _RESAMPLES, batch):
        drawn = random.integers(0, n, (min(batch, _RESAMPLES - first), blocks))
        over, under = (column[drawn].sum(axis=1) for column in sums)
        ratios.append(over[under > 0] / under[under > 0])
    ratio = np.concatenate(ratios)
    if not len(ratio):
        raise NotMeasurableError("nothing in the segment to take a share of")
    tail = (1.0 - CONFIDENCE) / 2.0
    lower, upper = np.quantile(ratio, [tail, 1.0 - tail])
    centre = numerator.sum() / denominator.sum()
    wider = _few_blocks_factor(blocks)
    return float(centre + (lower - centre) * wider), float(centre + (upper - centre) * wider)


def _few_blocks_factor(blocks: int) -> float:
    """How much wider a 95 % interval from so many blocks must be than from very many.

    Student's t over the normal quantile (Abramowitz and Stegun 26.7.5, to the second
    order), times the square root of k / (k - 1) that a resampled variance lacks.
    """
    z, freedom = NormalDist().inv_cdf((1.0 + CONFIDENCE) / 2.0), blocks - 1
    student = z + (z**3 + z) / (4 * freedom) + (5 * z**5 + 16 * z**3 + 3 * z) / (96 * freedom**2)
    return student / z * sqrt(blocks / freedom)


def _block_sums(column: NDArray[np.float64], block: int) -> NDArray[np.float64]:
    """Sum of the block that starts at each refresh of the ring."""
    ring = np.concatenate([[0.0], np.cumsum(np.concatenate([column, column[:block]]))])
    result: NDArray[np.float64] = ring[block : block + len(column)] - ring[: len(column)]
    return result
