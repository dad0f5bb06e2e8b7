"""Change of a band measured against its own range: how far it lies from the middle of what it does.

Where every refresh is torn and motion is soft, the picture as a whole shows neither stillness nor
what separates it from motion. A band still pauses now and then, for the part of a refresh in which
it is held, and stands out from itself.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from pacerail.detect.thresholds import ONE_CLUSTER_LIMIT

Floats: TypeAlias = NDArray[np.float64]

REACH = 8
"""Refreshes to each side: a third of a second shows both a pause and motion."""
PAUSED, MOVING = 2, 12
"""Places in the order of those refreshes, of 0 to 16, at which a band pauses and moves. Some pause
for less than the band is high; at 30 of 60 frames per second half of them move."""
LEAST_RANGE = 0.8
"""Octaves between the two from which a band tells anything."""
HALF_RANGE, MOST = 2.0, 2.5
"""Octaves that half the range counts for, and the most of any change."""
SURELY_MOVING = 3.0
"""Octaves above which a change is motion, whatever else the band does."""


def distance_in_range(change: Floats, compared: NDArray[np.bool_]) -> Floats:
    """(n, bands) octaves, scaled, above the middle of a band's range; 0 where it has none.

    A band that never changes by more than coding does has none either.

    change : (n, bands) log2 of the change in code values.
    compared : (n,) False where a refresh has no predecessor, and its change means nothing.
    """
    known = change[np.minimum(np.arange(len(change)) + ~compared, len(change) - 1)]
    padded = np.pad(known, ((REACH, REACH), (0, 0)), mode="symmetric")
    windows = sliding_window_view(padded, 2 * REACH + 1, axis=0)
    ordered = np.partition(windows, (PAUSED, MOVING), axis=-1)
    paused, moving = ordered[..., PAUSED], ordered[..., MOVING]
    half = np.maximum(moving - paused, LEAST_RANGE) / 2
    in_range = HALF_RANGE * (change - (paused + moving) / 2) / half
    tells = (moving - paused >= LEAST_RANGE) & (moving > ONE_CLUSTER_LIMIT)
    distance = np.where(tells, in_range, 0)
    beyond = change - SURELY_MOVING
    distance = np.where(beyond > 0, np.maximum(distance, beyond), distance)
    return distance.clip(-MOST, MOST)
