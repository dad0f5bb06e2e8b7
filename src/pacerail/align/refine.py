"""From an offset that is right to a moment of the grid to one that is right to a few ms.

Both captures are read along their frames, with motion taken as even from one flip to the
next. The offset is moved until what remains between them no longer looks like motion: least
squares (Gauss and Newton) on the difference of the thumbnails, against the rate at which the
second capture changes. A crop or zoom of one capture looks like motion, too, so it is solved
for at the same time wherever it explains much of the difference.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pacerail.align.compare import mean_of, standardised
from pacerail.align.signature import Signature
from pacerail.align.thumbnail import COLUMNS, ROWS

_STEPS = 10
# Largest move in one step: the grid is known to be right to less than that.
_LARGEST_STEP_S = 0.03
# Rates of change are taken over as much on either side: two refreshes at 60 Hz.
_REACH_S = 1 / 30
# A moment whose mean squared difference is this counts half: a tenth of what two unrelated
# pictures have (2, both being of variance 1) is a cut that does not meet its partner.
_HALF_WEIGHT = 0.02
# Rate of change, in standard deviations of the picture per second, at which a cell counts half:
# what moves more slowly is held back by lossy coding. (Swept over 0.2 to 2 on the bench.)
_HALF_RATE = 0.5
# A frame that differs by less of the difference than this share is taken as laid out alike:
# four parameters more always explain something, on the bench up to a tenth.
_WORTHWHILE = 0.85
# A crop that large is no crop. The prior that keeps parameters of no influence at 0 has this
# standard deviation, and the weight of a thousandth of the moments.
_LARGEST_CROP, _PRIOR_SHARE, _PRIOR_WEIGHT = 0.15, 0.03, 1e-3


@dataclass(frozen=True)
class Framing:
    """How the second capture's picture lies in the first's; shares of the picture."""

    zoom_x: float = 0.0
    shift_x: float = 0.0
    zoom_y: float = 0.0
    shift_y: float = 0.0

    def matrices(self) -> tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.float32]]:
        """Resampling of the first's rows and columns, and the cells that then have content."""
        down, has_row = _resampling(ROWS, self.zoom_y, self.shift_y)
        across, has_column = _resampling(COLUMNS, self.zoom_x, self.shift_x)
        return down, across.T, (has_row[:, None] & has_column).astype(np.float32)


def _resampling(
    cells: int, zoom: float, shift: float
) -> tuple[NDArray[np.float32], NDArray[np.bool_]]:
    """Cubic interpolation of cell centres, shape (cells, cells), and which lie inside.

    Keys, "Cubic convolution interpolation for digital image processing" (1981), a = -1/2. A
    linear one softens, and softness would count against framings between two cells.
    """
    place = ((_centres(cells)) * (1 + zoom) + shift + 0.5) * cells - 0.5
    inside = (place >= -0.5) & (place <= cells - 0.5)
    place = np.clip(place, 0, cells - 1)
    before = np.floor(place).astype(np.intp)
    matrix = np.zeros((cells, cells), np.float32)
    for neighbour in range(-1, 3):
        away = np.abs(place - before - neighbour)
        near = (1.5 * away - 2.5) * away**2 + 1
        far = ((-0.5 * away + 2.5) * away - 4) * away + 2
        weight = np.where(away < 1, near, np.where(away < 2, far, 0.0))
        # Beyond the edge the last cell goes on.
        np.add.at(matrix, (np.arange(cells), np.clip(before + neighbour, 0, cells - 1)), weight)
    return matrix, inside


def _centres(cells: int) -> NDArray[np.float32]:
    """Centres of cells as shares of the picture, from its middle."""
    return ((np.arange(cells) + 0.5) / cells - 0.5).astype(np.float32)


@dataclass(frozen=True)
class Fit:
    """An offset with what it leaves unexplained."""

    offset_s: float
    framing: Framing
    difference: float
    """Weighted mean squared difference, of pictures of variance 1."""
    information: float
    """What the moments say about the offset, 1 / s²: the larger the surer."""


def fit_offset(
    first: Signature, second: Signature, moments_s: NDArray[np.float64], offset_s: float
) -> Fit:
    """Offset and, where it is worthwhile, framing from moments of the first capture."""
    alike = _solve(first, second, moments_s, Fit(offset_s, Framing(), 0, 0), with_framing=False)
    framed = _solve(first, second, moments_s, alike, with_framing=True)
    return framed if framed.difference < _WORTHWHILE * alike.difference else alike


def fit_in_frame(
    first: Signature, second: Signature, moments_s: NDArray[np.float64], known: Fit
) -> Fit:
    """Offset alone, from other moments, in a framing that is known."""
    return _solve(first, second, moments_s, known, with_framing=False)


def _solve(
    first: Signature,
    second: Signature,
    moments_s: NDArray[np.float64],
    start: Fit,
    *,
    with_framing: bool,
) -> Fit:
    fit = start
    reference = _softened(first.frames_at(moments_s))
    for _ in range(_STEPS):
        down, across, mask = fit.framing.matrices()
        ours = standardised(np.matmul(np.matmul(down, reference), across), mask)
        theirs, later, earlier = (
            standardised(_softened(second.frames_at(moments_s + fit.offset_s + reach)), mask)
            for reach in (0.0, _REACH_S, -_REACH_S)
        )
        causes: list[NDArray[np.float32]] = [(later - earlier) / np.float32(2 * _REACH_S)]
        if with_framing:
            causes += _framing_causes(ours)
        difference = ours - theirs
        squared = mean_of(difference * difference, mask)[:, 0, 0]
        weight = 1 / (_HALF_WEIGHT + squared)
        weight /= weight.sum()
        rate = causes[0] * causes[0]
        moving = rate / (rate + np.float32(_HALF_RATE**2))
        scale = np.sqrt(mask * moving * (weight / mask.sum())[:, None, None])
        columns = np.stack([(scale * _visible(each, ours, mask)).ravel() for each in causes])
        normal = (columns @ columns.T).astype(np.float64)
        slope = (columns @ (scale * difference).ravel()).astype(np.float64)
        remaining = float((weight * squared).sum())
        if with_framing:
            prior = _PRIOR_WEIGHT * remaining / _PRIOR_SHARE**2 * np.diag([0.0, 1, 1, 1, 1])
            normal, slope = normal + prior, slope - prior[:, 1:] @ _parameters(fit.framing)
        if normal[0, 0] <= 0 or remaining <= 0:
            return replace(fit, difference=remaining)
        fit = replace(
            fit, difference=remaining, information=normal[0, 0] * len(moments_s) / remaining
        )
        step = np.linalg.lstsq(normal, slope, rcond=None)[0]
        move_s = float(np.clip(step[0], -_LARGEST_STEP_S, _LARGEST_STEP_S))
        framing = fit.framing
        if with_framing:
            moved = _parameters(framing) + step[1:]
            framing = Framing(*np.clip(moved, -_LARGEST_CROP, _LARGEST_CROP).tolist())
        fit = replace(fit, offset_s=fit.offset_s + move_s, framing=framing)
    return fit


def _framing_causes(looks: NDArray[np.float32]) -> list[NDArray[np.float32]]:
    """How frames change with each parameter of a framing, in their order."""
    causes: list[NDArray[np.float32]] = []
    for axis, centres in ((2, _centres(COLUMNS)), (1, _centres(ROWS)[:, None])):
        slope: NDArray[np.float32] = -looks.shape[axis] * np.asarray(np.gradient(looks, axis=axis))
        causes += [slope * centres, slope]
    return causes


def _parameters(framing: Framing) -> NDArray[np.float64]:
    return np.array([framing.zoom_x, framing.shift_x, framing.zoom_y, framing.shift_y])


def _visible(
    cause: NDArray[np.float32], looks: NDArray[np.float32], mask: NDArray[np.float32]
) -> NDArray[np.float32]:
    """What standardising leaves of a cause: nothing of brightness and of contrast."""
    centred = cause - mean_of(cause, mask)
    visible: NDArray[np.float32] = centred - looks * mean_of(centred * looks, mask)
    return visible


def _softened(frames: NDArray[np.float32]) -> NDArray[np.float32]:
    """Weights 1 2 1 both ways, so that a slope reaches from cell to cell."""
    for axis in (1, 2):
        wide = np.moveaxis(frames, axis, 0)
        wide = np.concatenate([wide[:1], wide, wide[-1:]])
        frames = np.moveaxis((wide[:-2] + 2 * wide[1:-1] + wide[2:]) / np.float32(4), 0, axis)
    return np.ascontiguousarray(frames, np.float32)
