"""A small place of the picture that changes on its own.

A recorder's badge, a blinking cursor or a chat window keeps its own time. Where nothing
else moves, each of its changes looks like a new frame of the program. The place cannot be
told from a thing that the program itself animates, so it is reported, never left out
unasked.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from pacerail.region import Region

MOST_AREA = 0.01
"""Share of the picture: a badge or a line of text; a moving thing passes through more."""
STEADY_SHARE = 0.75
"""Share of the place that half of its changes fill: a badge changes in the same spot, a
moving thing a little further on each time."""
FEWEST_CHANGES = 6
"""Changes of the place alone from which it is reported: a menu may blink a few times."""


@dataclass(frozen=True)
class OwnClock:
    """A place that changed while all else was held."""

    region: Region
    changes: int
    """Refreshes in which nothing else changed."""

    @property
    def note(self) -> str:
        """What the user should know, and may do."""
        # Whole hundredths are easy to copy; widened so that they still hold the place.
        x, y = floor(self.region.x * 100), floor(self.region.y * 100)
        right = ceil((self.region.x + self.region.width) * 100)
        foot = ceil((self.region.y + self.region.height) * 100)
        region = Region(x / 100, y / 100, (min(right, 100) - x) / 100, (min(foot, 100) - y) / 100)
        return (
            f"in {self.changes} refreshes one small place alone changed; if it keeps its own "
            f"time, leave it out: --ignore {region}"
        )


def own_clock(
    extent: NDArray[np.int16], is_new: NDArray[np.bool_], block: Region
) -> OwnClock | None:
    """The place that changed alone most often, if it is small and stays where it is.

    extent : (n, 4) first and end band, first and end block of what changed.
    is_new : (n,) refreshes taken for new.
    block : the first block; all others are as large.
    """
    boxes = extent[is_new].astype(np.int64)
    area = _area(boxes) * block.width * block.height
    small = boxes[(area > 0) & (area <= MOST_AREA)]
    if len(small) < FEWEST_CHANGES or len(small) == len(boxes):
        return None
    centres = (small[:, [0, 2]] + small[:, [1, 3]]) // 8
    places, counts = np.unique(centres, axis=0, return_counts=True)
    is_near = (np.abs(centres - places[counts.argmax()]) <= 1).all(axis=1)
    place = small[is_near]
    whole = np.where([True, False, True, False], place.min(axis=0), place.max(axis=0))[None]
    is_steady = np.median(_area(place)) >= STEADY_SHARE * _area(whole)[0]
    if len(place) < max(FEWEST_CHANGES, len(small) / 2) or not is_steady:
        return None
    top, end, left, right = whole[0].tolist()
    region = Region(
        block.x + left * block.width,
        block.y + top * block.height,
        (right - left) * block.width,
        (end - top) * block.height,
    )
    return OwnClock(region, len(place))


def _area(boxes: NDArray[np.int64]) -> NDArray[np.int64]:
    """(n,) blocks inside each box."""
    area: NDArray[np.int64] = (boxes[:, 1] - boxes[:, 0]) * (boxes[:, 3] - boxes[:, 2])
    return area
