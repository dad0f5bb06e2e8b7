"""Three quarters of the size: what tells it from a codec, whose blocks repeat as it does.

Enlarging three samples to four puts a shown sample near a drawn one on either side of each
boundary between fours, and two in between. The gap in the middle of a four then joins two
blends of the same sample and is the smallest, the gaps on either side of it are larger.
Coding in blocks of four or eight leaves a jump at boundaries and smooth insides, where the
middle gap is the largest of the three.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pacerail.sharpness.trace import ROUNDING, Samples, nearby_mean

FOUR = 4


def quarter_gaps(samples: Samples, start: int) -> NDArray[np.float64]:
    """Mean gap to the next sample at each place of a four, over the mean gap nearby.

    samples : float32, shape (length, width), along the first axis.
    start : place of the first sample in the picture.
    Returns float64, shape (4,).
    """
    gaps = np.abs(np.diff(samples, axis=0))
    gaps /= nearby_mean(gaps) + np.float32(ROUNDING)
    along = gaps.mean(axis=1, dtype=np.float64)
    means = [along[(place - start) % FOUR :: FOUR].mean() for place in range(FOUR)]
    return np.array(means)


def middle_dip(gaps: NDArray[np.float64]) -> float:
    """How far the middle gap lies below those beside it, as a share of the mean."""
    mean = float(gaps.mean())
    return float((gaps[0] + gaps[2]) / 2 - gaps[1]) / mean if mean else 0.0
