"""The hand count: stair steps along an edge that a person marks.

A slanting edge drawn without smoothing climbs in steps of one native row (or column, for a
steep edge). However much it was enlarged since, the steps can be counted: so many over so
many rows of the shown picture give the native height.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pacerail.errors import UsageError
from pacerail.picture import Luma
from pacerail.runs import runs

# Samples to either side of the marked line in which the edge is looked for: a hand marks no
# better, and two native rows are at most four shown ones. (Our choice.)
REACH = 6
# The edge must stand out by so many code values of 8 bits.
LEAST_CONTRAST = 12.0
# A count of few steps bounds nothing: one step more or less is a third of three.
LEAST_STEPS = 3
# Shorter marks hold no steps worth counting.
LEAST_LENGTH = 16
# A step must take so many samples along the edge, or it cannot be told from a slope.
LEAST_TREAD = 3.0


@dataclass(frozen=True)
class Mark:
    """A line from (x0, y0) to (x1, y1), in samples of the picture."""

    x0: float
    y0: float
    x1: float
    y1: float

    @classmethod
    def parse(cls, text: str) -> Mark:
        """Mark from ``x0,y0,x1,y1``. Raises UsageError on anything else."""
        try:
            x0, y0, x1, y1 = (float(part) for part in text.split(","))
        except ValueError:
            raise UsageError(
                f"edge must be four numbers x0,y0,x1,y1, got {text!r}; give both of its ends in "
                "pixels, such as 310,402,498,420"
            ) from None
        return cls(x0, y0, x1, y1)

    @property
    def is_flat(self) -> bool:
        """True where it runs across rather than down; its steps are rows."""
        return abs(self.x1 - self.x0) >= abs(self.y1 - self.y0)


@dataclass(frozen=True, eq=False)
class Stairs:
    """Steps along a marked edge, and what they say."""

    counts: Literal["rows", "columns"]
    """What the steps are: rows of the native picture, or columns."""
    steps: int
    """From the first jump to the last."""
    extent: float
    """Shown rows (or columns) that they climb."""
    size: float
    """Native rows (or columns) of the whole picture."""
    least: float
    """The same for one step less."""
    most: float
    """The same for one step more."""
    jumps: tuple[tuple[float, float], ...]
    """Where the edge jumps, (x, y) in samples of the picture, along the mark."""


def count_stairs(luma: Luma, bit_depth: int, mark: Mark) -> Stairs:
    """Count the steps of the edge along a mark.

    luma : shape (rows, columns), of `bit_depth` significant bits.
    Raises UsageError when the mark leaves the picture, is too short, or no steps are there.
    """
    rows, columns = luma.shape
    for x, y in ((mark.x0, mark.y0), (mark.x1, mark.y1)):
        if not (0 <= x < columns and 0 <= y < rows):
            raise UsageError(
                f"edge must lie inside the picture of {columns} x {rows}, got {x:g},{y:g}; "
                "give pixels from its upper left corner"
            )
    if mark.is_flat:
        found = _climb(luma, bit_depth, (mark.x0, mark.y0), (mark.x1, mark.y1))
        return _stairs("rows", found, rows)
    found = _climb(luma.T, bit_depth, (mark.y0, mark.x0), (mark.y1, mark.x1))
    swapped = [(height, along) for along, height in found]
    return _stairs("columns", swapped, columns)


def _climb(
    samples: Luma, bit_depth: int, start: tuple[float, float], end: tuple[float, float]
) -> list[tuple[float, float]]:
    """Jumps of a flat edge as (along, height), from the lesser to the greater `along`."""
    (first, height), (last, end_height) = sorted((start, end))
    along = np.arange(math.ceil(first), math.floor(last) + 1)
    if len(along) < LEAST_LENGTH:
        raise UsageError(
            f"edge must be at least {LEAST_LENGTH} pixels long, got {len(along)}; mark a longer one"
        )
    marked = np.interp(along, (first, last), (height, end_height))
    heights = _edge_heights(samples, bit_depth, along, marked)
    if heights is None:
        raise UsageError(
            f"edge must stand out along the mark, got a contrast below {LEAST_CONTRAST:g}; "
            "mark it within a few pixels"
        )
    return _jumps(along.astype(np.float64), heights)


def _edge_heights(
    samples: Luma, bit_depth: int, along: NDArray[np.intp], marked: NDArray[np.float64]
) -> NDArray[np.float64] | None:
    """Height at which each column passes from one side to the other; None if it does not.

    It is where a hard edge would lie that leaves the same mean (Tabatabai and Mitchell, IEEE
    PAMI 6, 1984: edges to a part of a sample by preserving moments).
    """
    offsets = np.arange(-REACH, REACH + 1)
    places = np.clip(np.rint(marked)[:, None].astype(np.intp) + offsets, 0, len(samples) - 1)
    values = samples[places, along[:, None]].astype(np.float64) * 2.0 ** (8 - bit_depth)
    above = float(np.median(values[:, :2]))
    below = float(np.median(values[:, -2:]))
    if abs(below - above) < LEAST_CONTRAST:
        return None
    share_below = np.clip((values - above) / (below - above), 0, 1)
    heights: NDArray[np.float64] = places[:, -1] + 0.5 - share_below.sum(axis=1)
    return heights


def _jumps(along: NDArray[np.float64], heights: NDArray[np.float64]) -> list[tuple[float, float]]:
    """Places where the heights jump, by a threshold of half of a jump either way."""
    rise = np.convolve(np.diff(heights), np.ones(2), "same")
    rise *= np.sign(heights[-1] - heights[0]) or 1.0
    # Jumps are alike, so the strongest tenth tells how much one rises at a time.
    usual = float(np.quantile(rise, 0.95))
    if usual <= 0:
        return []
    jumps = []
    for first, end in runs(rise > usual / 2):
        weight = rise[first:end]
        place = float((along[first:end] * weight).sum() / weight.sum()) + 0.5
        jumps.append((place, float(np.interp(place, along, heights))))
    return jumps


def _stairs(
    counts: Literal["rows", "columns"], jumps: list[tuple[float, float]], length: int
) -> Stairs:
    steps = len(jumps) - 1
    axis = 1 if counts == "rows" else 0
    if steps < LEAST_STEPS:
        raise UsageError(
            f"edge must have at least {LEAST_STEPS + 1} steps along the mark, got "
            f"{max(len(jumps), 0)}; mark a longer edge, or one that slants more"
        )
    # The jumps lie on the edge's line; a line through them all levels out where each lies.
    places = np.array([jump[1 - axis] for jump in jumps])
    heights = np.array([jump[axis] for jump in jumps])
    slope = float(np.polyfit(places, heights, 1)[0])
    run = abs(float(places[-1] - places[0]))
    extent = abs(slope) * run
    if run / steps < LEAST_TREAD or extent == 0:
        raise UsageError(
            f"steps must be at least {LEAST_TREAD:g} pixels long, got {run / steps:.1f}; mark an "
            "edge that slants less"
        )
    per_step = length / extent
    return Stairs(
        counts,
        steps,
        extent,
        size=per_step * steps,
        least=per_step * (steps - 1),
        most=per_step * (steps + 1),
        jumps=tuple(jumps),
    )
