"""Enlarging a part of a picture: exact cells, or a named filter."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from pacerail.compose.seen import Rgb

FILTERS = ("nearest", "linear", "cubic")
"""Exact cells; a triangle; Keys' cubic convolution with a = -1/2 (Keys, IEEE Trans. ASSP
29(6), 1981)."""


def zoomed(
    picture: Rgb, box: tuple[float, float, float, float], size: tuple[int, int], filter_: str
) -> Rgb:
    """A part of a picture, enlarged.

    box : x, y, width, height of the part in pixels; need not be whole.
    size : width and height of the result in pixels.
    filter_ : one of `FILTERS`. With ``nearest`` and a whole factor, every source pixel
        becomes a cell of exactly its own value.
    """
    x, y, width, height = box
    columns = x + (np.arange(size[0]) + 0.5) * width / size[0]
    rows = y + (np.arange(size[1]) + 0.5) * height / size[1]
    if filter_ == "nearest":
        at_rows = np.clip(np.floor(rows).astype(np.intp), 0, picture.shape[0] - 1)
        at_columns = np.clip(np.floor(columns).astype(np.intp), 0, picture.shape[1] - 1)
        cells: Rgb = picture[at_rows[:, None], at_columns]
        return cells
    reach, weight = {"linear": (1, _triangle), "cubic": (2, _keys)}[filter_]
    # Rows and columns beyond the part's own reach are not needed.
    top, left = max(int(y) - reach, 0), max(int(x) - reach, 0)
    part = picture[top : int(y + height) + reach + 2, left : int(x + width) + reach + 2]
    # Across first, while there are only the part's own rows.
    wide = _filtered(part.astype(np.float32), columns - left, reach, weight, axis=1)
    tall = _filtered(wide, rows - top, reach, weight, axis=0)
    most = np.iinfo(picture.dtype).max
    smooth: Rgb = np.clip(tall + 0.5, 0, most).astype(picture.dtype)
    return smooth


def _filtered(
    samples: NDArray[np.float32],
    places: NDArray[np.float64],
    reach: int,
    weight: Callable[[NDArray[np.float64]], NDArray[np.float64]],
    *,
    axis: int,
) -> NDArray[np.float32]:
    """Samples at places along an axis; their centres lie at n + 1/2, and the border repeats."""
    first = np.floor(places - 0.5).astype(np.intp) - reach + 1
    last = samples.shape[axis] - 1
    column = [-1 if each == axis else 1 for each in range(samples.ndim)]
    result: NDArray[np.float32] | None = None
    for tap in range(2 * reach):
        part = np.take(samples, np.clip(first + tap, 0, last), axis=axis)
        part *= weight(np.abs(places - 0.5 - (first + tap))).astype(np.float32).reshape(column)
        result = part if result is None else np.add(result, part, out=result)
    assert result is not None
    return result


def _triangle(distance: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.maximum(1 - distance, 0)


def _keys(distance: NDArray[np.float64]) -> NDArray[np.float64]:
    near = (1.5 * distance - 2.5) * distance**2 + 1
    far = ((-0.5 * distance + 2.5) * distance - 4) * distance + 2
    return np.where(distance < 1, near, np.where(distance < 2, far, 0))
