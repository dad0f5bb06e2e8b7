"""Gathers what pictures show of the size they were drawn at, one after another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacerail.picture import Luma
from pacerail.region import Region
from pacerail.sharpness.edges import Steps, steps
from pacerail.sharpness.quarters import quarter_doubt, quarter_sums
from pacerail.sharpness.trace import Samples, Strip, Trace, strip_means

WHOLE = (Region(0, 0, 1, 1),)


@dataclass(frozen=True, eq=False)
class _Axis:
    """Sums over pictures along one axis of one region."""

    bends: NDArray[np.float64]
    steps: Steps
    quarters: NDArray[np.float64]

    def __add__(self, other: _Axis) -> _Axis:
        return _Axis(
            self.bends + other.bends, self.steps + other.steps, self.quarters + other.quarters
        )


@dataclass(frozen=True, eq=False)
class Look:
    """What some pictures of one size show, in the parts of them that are looked at."""

    rows: int
    columns: int
    regions: tuple[Region, ...]
    pictures: int
    down: tuple[_Axis, ...]
    """For each region, from row to row."""
    across: tuple[_Axis, ...]
    """For each region, from column to column."""

    def __add__(self, other: Look) -> Look:
        """Both together. Raises ValueError for pictures of another size."""
        mine, theirs = ((a.rows, a.columns, a.regions) for a in (self, other))
        if mine != theirs:
            raise ValueError(f"pictures must be alike, got {mine} and {theirs}")
        return Look(
            self.rows,
            self.columns,
            self.regions,
            self.pictures + other.pictures,
            tuple(a + b for a, b in zip(self.down, other.down, strict=True)),
            tuple(a + b for a, b in zip(self.across, other.across, strict=True)),
        )

    def traces(self) -> tuple[Trace, Trace]:
        """From row to row, and from column to column."""
        places = [region.slices(self.rows, self.columns) for region in self.regions]
        return (
            self._trace(self.rows, [down.start for down, _ in places], self.down),
            self._trace(self.columns, [across.start for _, across in places], self.across),
        )

    @property
    def quarter_doubts(self) -> tuple[float, float]:
        """From row to row and from column to column: `quarters.quarter_doubt`."""
        down, across = (
            quarter_doubt(np.sum([axis.quarters for axis in axes], axis=0))
            for axes in (self.down, self.across)
        )
        return down, across

    @property
    def is_native(self) -> bool:
        """True when hard steps say in both directions, in every region, that nothing grew."""
        return all(axis.steps.are_native for axis in (*self.down, *self.across))

    def _trace(self, length: int, starts: Sequence[int], axes: Sequence[_Axis]) -> Trace:
        return Trace(
            length,
            tuple(
                Strip(start, bend / self.pictures)
                for start, axis in zip(starts, axes, strict=True)
                for bend in axis.bends
            ),
        )


def look_at(luma: Luma, bit_depth: int, regions: Sequence[Region] = WHOLE) -> Look:
    """What one picture shows.

    luma : shape (rows, columns), of `bit_depth` significant bits.
    """
    rows, columns = luma.shape
    scale = np.float32(2.0 ** (8 - bit_depth))
    down, across = [], []
    for region in regions:
        place_down, place_across = region.slices(rows, columns)
        part = luma[place_down, place_across].astype(np.float32) * scale
        down.append(_axis(part, place_down.start))
        across.append(_axis(np.ascontiguousarray(part.T), place_across.start))
    return Look(rows, columns, tuple(regions), 1, tuple(down), tuple(across))


def _axis(samples: Samples, start: int) -> _Axis:
    return _Axis(strip_means(samples), steps(samples), quarter_sums(samples, start))
