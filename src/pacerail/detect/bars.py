"""Black bars around the picture: letterbox and pillarbox.

They never change and carry no texture, so no verdict needs them gone; but who reads a
tear row or marks a region must know where the picture lies.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pacerail.picture import Luma

BLACK_CODE = 24
"""Highest 8-bit code of a bar: black of the narrow range, and half as much again of coding
noise."""
EVERY = 16
"""Refreshes from one look to the next."""
LEAST_SHARE = 0.02
"""Bars narrower than this share of a side are an uneven edge."""


class BarFinder:
    """Remembers the brightest sample that each row and column ever showed."""

    def __init__(self, rows: int, columns: int, bit_depth: int) -> None:
        self._row_peaks = np.zeros(rows, np.uint16)
        self._column_peaks = np.zeros(columns, np.uint16)
        self._black = BLACK_CODE << (bit_depth - 8)
        self._pictures = 0

    def look(self, luma: Luma) -> None:
        """Take one more picture into account; most are passed over."""
        if self._pictures % EVERY == 0:
            np.maximum(self._row_peaks, luma.max(axis=1), out=self._row_peaks)
            np.maximum(self._column_peaks, luma.max(axis=0), out=self._column_peaks)
        self._pictures += 1

    def notes(self, row_step: int) -> list[str]:
        """What bars there are, in rows and columns of the picture.

        row_step : picture rows for each row looked at.
        """
        sides = (
            ("rows", self._row_peaks, row_step),
            ("columns", self._column_peaks, 1),
        )
        notes = []
        for name, peaks, step in sides:
            start, end = _bright(peaks, self._black)
            length = len(peaks)
            if end > start and min(start, length - end) >= LEAST_SHARE * length:
                notes.append(
                    f"the picture fills {name} {start * step} to {end * step} of "
                    f"{length * step}; the black bars beside it do not count"
                )
        return notes


def _bright(peaks: NDArray[np.uint16], black: int) -> tuple[int, int]:
    """First place that was ever brighter than black, and one past the last; 0, 0 if none."""
    places = np.flatnonzero(peaks > black)
    return (int(places[0]), int(places[-1]) + 1) if len(places) else (0, 0)
