"""Many single pictures of a capture in colour, in one pass from its start."""

from __future__ import annotations

from collections.abc import Collection, Iterator

import numpy as np
from numpy.typing import NDArray

from pacerail.capture.open import Capture
from pacerail.capture.reader import pictures
from pacerail.capture.stills import shown_rgb


def rgb_of_refreshes(
    capture: Capture, refreshes: Collection[int], columns: int
) -> Iterator[tuple[int, NDArray[np.uint8]]]:
    """Each of those refreshes that has a picture, in order: its number and uint8 R'G'B'.

    capture : at its start, not yet read from.
    columns : width that pictures are scaled to, in the shape that a player shows.
    """
    wanted, last = set(refreshes), max(refreshes, default=-1)
    aspect = float(capture.video.sample_aspect_ratio or 1)
    for picture in pictures(capture):
        if picture.refresh > last:
            return
        if picture.refresh in wanted:
            yield picture.refresh, shown_rgb(picture.owner, aspect, columns)
