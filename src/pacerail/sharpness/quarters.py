"""Three quarters of the size: what tells it from a codec, whose blocks repeat as it does.

Enlarging three samples to four makes one of every four redundant: the six samples about the
middle of a four are blends of the same few drawn ones, and a certain sum of them vanishes
whatever was drawn. One sample further on it does not, nor in a picture that was never
enlarged. Coarse coding in blocks of four makes that sum small too, since blocks are smooth
inside, but leaves jumps from block to block, which enlarging does not. Blocks of eight do so
in every other four.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from pacerail.sharpness.trace import Samples

FOUR, EIGHT = 4, 8
# The sum is of differences between samples that mirror each other about the middle, from the
# inmost pair outwards, signs in turn. Solved for, it vanishes for linear interpolation at 1,
# 7/16, 1/16 and for the cubic convolution of Keys (IEEE ASSP 29, 1981; a = -1/2) at 1, 0.489,
# 0.092; the latter leave little of other kernels too.
WEIGHTS = (1.0, 0.489, 0.092)
SPAN = 2 * len(WEIGHTS)
# Six samples count where they range over a tenth of the range of luma: what coding adds is
# small beside that.
LEAST_RANGE = 22.0
# So many of them, at each place of an eight. (Our choice.)
LEAST_COUNT = 500
# Beside the middle the sum is 0.7 of that at the boundary between fours where three quarters
# were enlarged. (Bench: about 0.8 when coded at crf 16.) Samples repeated or enlarged
# twice or four times, and blocks of eight, mostly have 1 and more in some four.
MOST_BESIDE = 0.9
# Jumps weigh half as much as what is left of the sum. (Bench, mean of both directions: enlarged
# pictures coded at crf 16 come to 0.61 at most, but for rough rock at 1080 lines, 0.66 and
# 0.73; native ones in any coding to 0.73 at least, where blocks of four are coarsest to 0.80.)
JUMP_WEIGHT = 0.5
MOST_DOUBT, MOST_DOUBT_EACH = 0.68, 0.75


def quarter_sums(samples: Samples, start: int) -> NDArray[np.float64]:
    """The sum of six samples and the gap in their middle, by its place in an eight.

    samples : float32, shape (length, width), in code values of 8 bits; along the first axis.
    start : place of the first sample in the picture.
    Returns float64, shape (3, 8): sizes of the sum and of the gap, each over the range of the
    six samples, added up; and of how many. Places 1 and 5 are the middles of fours.
    """
    totals = np.zeros((3, EIGHT))
    count = len(samples) - SPAN + 1
    if count < EIGHT:
        return totals
    parts = [samples[offset : offset + count] for offset in range(SPAN)]
    inner = SPAN // 2
    size = np.zeros_like(parts[0])
    highest, lowest = parts[0].copy(), parts[0].copy()
    for pair, weight in enumerate(WEIGHTS):
        left, right = parts[inner - 1 - pair], parts[inner + pair]
        size += np.float32(weight * (-1) ** pair) * (left - right)
        for part in (left, right):
            np.maximum(highest, part, out=highest)
            np.minimum(lowest, part, out=lowest)
    highest -= lowest
    counts = highest >= LEAST_RANGE
    weights = counts / np.maximum(highest, np.float32(LEAST_RANGE))
    gaps = np.abs(parts[inner] - parts[inner - 1])
    along = (
        np.einsum("ij,ij->i", np.abs(size), weights),
        np.einsum("ij,ij->i", gaps, weights),
        counts.sum(axis=1),
    )
    for place in range(EIGHT):
        first = (place - start - inner + 1) % EIGHT
        totals[:, place] = [rows[first::EIGHT].sum() for rows in along]
    return totals


def quarter_doubt(totals: NDArray[np.float64]) -> float:
    """How far one direction is from three quarters of the size: 0 where nothing is lost.

    totals : shape (3, 8), as `quarter_sums` of all pictures added up.
    Returns what is left of the sum in the middle of fours, as a share of that beside it, and
    how far gaps at the boundary exceed those beside the middle, weighed; infinity where too
    little is there to tell or the sums elsewhere are not those of enlarging.
    """
    sizes, gaps, counts = totals
    if counts.min() < LEAST_COUNT:
        return math.inf
    left, middle, right, boundary = (sizes / counts).reshape(-1, FOUR).T
    beside = (left + right) / 2
    if (beside > MOST_BESIDE * boundary).any():
        return math.inf
    means = (gaps / counts).reshape(-1, FOUR).mean(axis=0)
    jump = float(means[3] - (means[0] + means[2]) / 2) / float(means.mean())
    return float((middle / beside).max()) + JUMP_WEIGHT * max(jump, 0.0)


def are_three_quarters(doubts: tuple[float, float]) -> bool:
    """True where both directions together leave little doubt."""
    return sum(doubts) / 2 <= MOST_DOUBT and max(doubts) <= MOST_DOUBT_EACH
