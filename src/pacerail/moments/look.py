"""What is kept of every picture: how light it is, and a coarse thumbnail for telling scenes apart.

A thumbnail has many rows, because the display scans them one after another and a cut that
comes without sync shows on the lower ones first, and few columns.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacerail.picture import Luma, Picture
from pacerail.region import Region

ROWS, COLUMNS = 72, 32
"""Cells of a thumbnail: 15 lines of 1080 high."""

PIXEL_BLACK_TH = 0.10
"""A sample this share of the range above black, or below it, is black (blackdetect,
libavfilter's documentation)."""
PICTURE_BLACK_RATIO_TH = 0.98
"""Share of such samples that makes a picture black (blackdetect, libavfilter's documentation)."""

# Codes of black and white in 8 bits: ITU-R BT.709 table 4 (narrow range); full range.
NARROW_RANGE, FULL_RANGE = (16, 235), (0, 255)

# Samples taken across a cell; more only cost time.
_CELL_SAMPLES = 8
# Share of cells that are brighter, or darker, than what stands for the extremes of a picture.
_EXTREME = 0.05

Thumbnail = NDArray[np.float32]
"""float32, shape (ROWS, COLUMNS), mean luma of each cell in 8-bit code values."""


@dataclass(frozen=True, eq=False)
class Look:
    """One picture, as far as moments are concerned; codes are of 8 bits."""

    refresh: int
    thumbnail: Thumbnail
    mean: float
    """Mean luma."""
    brightest: float
    """Luma that few cells exceed."""
    darkest: float
    """Luma that few cells stay below."""
    is_black: bool
    is_white: bool
    picture_type: str
    """As `pacerail.picture.Picture` has it."""


class LookTaker:
    """Reduces pictures to looks.

    area : the part of the picture inside its black bars.
    levels : codes of black and white in 8 bits.
    """

    def __init__(self, area: Region, levels: tuple[int, int]) -> None:
        self._area = area
        black, white = levels
        margin = PIXEL_BLACK_TH * (white - black)
        self._black_to, self._white_from = black + margin, white - margin

    def take(self, picture: Picture) -> Look:
        """The look of a picture of any size and depth."""
        luma = picture.luma[self._area.slices(*picture.luma.shape)]
        unit = 1 << (picture.bit_depth - 8)
        thumbnail = reduced(luma) / np.float32(unit)
        cells = np.sort(thumbnail, axis=None)
        extreme = int(_EXTREME * len(cells))
        least = PICTURE_BLACK_RATIO_TH * luma.size
        return Look(
            picture.refresh,
            thumbnail,
            mean=float(cells.mean()),
            brightest=float(cells[-1 - extreme]),
            darkest=float(cells[extreme]),
            is_black=bool(np.count_nonzero(luma <= int(self._black_to * unit)) >= least),
            is_white=bool(np.count_nonzero(luma >= int(self._white_from * unit + 1)) >= least),
            picture_type=picture.picture_type,
        )


def reduced(luma: Luma) -> Thumbnail:
    """Mean of every cell of a grid over a picture of at least (ROWS, COLUMNS) samples.

    A smaller picture repeats its samples. Columns are sampled, rows are taken in full.
    """
    rows, columns = luma.shape
    step = max(columns // (COLUMNS * _CELL_SAMPLES), 1)
    samples = luma[:, step // 2 :: step]
    tops, lefts = _edges(rows, ROWS), _edges(samples.shape[1], COLUMNS)
    sums = np.add.reduceat(samples, tops, axis=0, dtype=np.uint32)
    sums = np.add.reduceat(sums, lefts, axis=1)
    counts = np.outer(_lengths(tops, rows), _lengths(lefts, samples.shape[1]))
    means: Thumbnail = (sums / counts).astype(np.float32)
    return means


def _edges(length: int, cells: int) -> NDArray[np.intp]:
    """First sample of each cell."""
    edges: NDArray[np.intp] = np.arange(cells) * length // cells
    return edges


def _lengths(edges: NDArray[np.intp], length: int) -> NDArray[np.intp]:
    """Samples of each cell; a cell without any takes the one at its edge."""
    lengths: NDArray[np.intp] = np.maximum(np.diff(edges, append=length), 1)
    return lengths
