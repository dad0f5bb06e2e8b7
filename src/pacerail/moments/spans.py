"""Columns over the refreshes of a capture, and the stretches of them that are black or white."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from pacerail.moments.cuts import FLASH_S
from pacerail.moments.look import Look

Span = tuple[int, int]
"""Refreshes [first, end)."""


@dataclass(frozen=True, eq=False)
class Levels:
    """What looks say of lightness, one value a refresh; 16 bytes each, codes are of 8 bits."""

    mean: NDArray[np.float32]
    brightest: NDArray[np.float32]
    darkest: NDArray[np.float32]
    is_black: NDArray[np.bool_]
    is_white: NDArray[np.bool_]

    @property
    def refreshes(self) -> int:
        """Length in refreshes."""
        return len(self.mean)


class LevelKeeper:
    """Collects columns; a refresh without a picture repeats the one before."""

    def __init__(self) -> None:
        self._rows: list[tuple[float, float, float, bool, bool]] = []

    def see(self, look: Look) -> None:
        """Take what a look says of lightness."""
        row = (look.mean, look.brightest, look.darkest, look.is_black, look.is_white)
        while self._rows and len(self._rows) < look.refresh:
            self._rows.append(self._rows[-1])
        self._rows.append(row)

    def levels(self) -> Levels:
        """All columns."""
        columns = np.array(self._rows, np.float32).reshape(-1, 5).T
        return Levels(columns[0], columns[1], columns[2], columns[3] > 0, columns[4] > 0)


def spans_of(flags: NDArray[np.bool_]) -> Iterator[Span]:
    """Stretches in which flags are set."""
    edges = np.flatnonzero(np.diff(flags.astype(np.int8), prepend=0, append=0))
    yield from ((int(first), int(end)) for first, end in edges.reshape(-1, 2))


def plain_spans(
    flags: NDArray[np.bool_], refresh_hz: Fraction, transitions: Collection[int]
) -> Iterator[Span]:
    """Stretches of black or white that are no flash.

    A short one counts where a cut or a fade leads into it or out of it: then another scene
    follows, or the same one in another light.
    transitions : refreshes at which cuts and fades start or end.
    """
    for first, end in spans_of(flags):
        is_long = end - first >= FLASH_S * refresh_hz
        if is_long or any(first - 1 <= refresh <= end for refresh in transitions):
            yield first, end
