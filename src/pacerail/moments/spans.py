"""Columns over the refreshes of a capture, and the stretches of them that are black or white."""

from __future__ import annotations

from array import array
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from pacerail.moments.cuts import FLASH_S
from pacerail.moments.look import Look
from pacerail.runs import runs

Span = tuple[int, int]
"""Refreshes [first, end)."""

_COLUMNS = 5


@dataclass(frozen=True, eq=False)
class Levels:
    """What looks say of lightness, one value a refresh; codes are of 8 bits."""

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
    """Collects columns, 20 bytes a refresh; one without a picture repeats the one before."""

    def __init__(self) -> None:
        self._values = array("f")

    def see(self, look: Look) -> None:
        """Take what a look says of lightness."""
        values = self._values
        while values and len(values) < _COLUMNS * look.refresh:
            values.extend(values[-_COLUMNS:])
        values.extend((look.mean, look.brightest, look.darkest, look.is_black, look.is_white))

    def levels(self) -> Levels:
        """All columns."""
        columns = np.array(self._values, np.float32).reshape(-1, _COLUMNS).T
        return Levels(columns[0], columns[1], columns[2], columns[3] > 0, columns[4] > 0)


def plain_spans(
    flags: NDArray[np.bool_], refresh_hz: Fraction, transitions: Collection[int]
) -> Iterator[Span]:
    """Stretches of black or white that are no flash.

    A short one counts where a cut or a fade leads into it or out of it: then another scene
    follows, or the same one in another light.
    transitions : refreshes at which cuts and fades start or end.
    """
    for first, end in runs(flags):
        is_long = end - first >= FLASH_S * refresh_hz
        if is_long or any(first - 1 <= refresh <= end for refresh in transitions):
            yield first, end
