"""Flips while they are decided: each way of finding them adds some and takes others away."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, eq=False)
class FoundFlips:
    """Flips as parallel columns."""

    place: NDArray[np.int64]
    """Place of the refresh in the columns of its part."""
    row: NDArray[np.float64]
    """Row of the tear, 0 where there is none."""
    between: NDArray[np.float64]
    """(flips, 2) the rows between which nothing tells where it lies; 0 and 0 where its row is
    told."""
    midway: NDArray[np.float64]
    """Row of a tear that cannot be seen but that those beside it tell, 0 elsewhere; below 0 in the
    refresh before."""

    @classmethod
    def of(
        cls,
        place: NDArray[np.int64],
        row: NDArray[np.float64],
        between: NDArray[np.float64] | None = None,
        midway: NDArray[np.float64] | None = None,
    ) -> Self:
        """Flips of which the last two columns are 0 where they are not given."""
        return cls(
            place,
            row,
            np.zeros((len(place), 2)) if between is None else between,
            np.zeros(len(place)) if midway is None else midway,
        )

    @property
    def is_vague(self) -> NDArray[np.bool_]:
        """(flips,) True where there is a tear whose row is not told."""
        return self.between[:, 1] > 0

    def __add__(self, other: FoundFlips) -> FoundFlips:
        """Both, one after the other."""
        columns = zip(vars(self).values(), vars(other).values(), strict=True)
        return FoundFlips(*(np.concatenate(both) for both in columns))

    def kept(self, index: NDArray[np.bool_] | NDArray[np.int64]) -> FoundFlips:
        """Those that a mask tells, or their numbers in order."""
        return FoundFlips(*(column[index] for column in vars(self).values()))

    def in_order(self) -> FoundFlips:
        """The same in order of time."""
        return self.kept(np.lexsort((self.row + self.midway, self.place)))
