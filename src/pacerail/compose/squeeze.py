"""Graphics for footage whose pixels are not square: drawn as it is seen, stored as it is.

Graphics are drawn on a canvas of square pixels that is as large as the footage or larger,
and made narrower or lower here, so that a player, which does the opposite, shows them
undistorted.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from math import ceil

import numpy as np
from numpy.typing import NDArray

from pacerail.compose.alpha_frames import composite
from pacerail.compose.rectangle import Rectangle, around, even
from pacerail.patch import Image, Patch, whole

PatchesOf = Callable[[int], Sequence[Patch]]


def squeezed(patches_of: PatchesOf, drawn: tuple[int, int], stored: tuple[int, int]) -> PatchesOf:
    """Patches on the stored picture, from patches on a canvas that is as large or larger.

    The same function where both are alike. Else what is drawn is laid together first, as
    a strip that moves by whole drawn pixels does not move by whole stored ones.
    """
    if drawn == stored:
        return patches_of
    ratios = [Fraction(large, small) for large, small in zip(drawn, stored, strict=True)]

    def squeezed_patches(refresh: int) -> list[Patch]:
        patches = patches_of(refresh)
        if not patches:
            return []
        box = around([Rectangle(each.x, each.y, each.width, each.height) for each in patches])
        columns = _covering(box.x, box.right, ratios[0], stored[0])
        rows = _covering(box.y, box.bottom, ratios[1], stored[1])
        x, y = int(columns.start * ratios[0]), int(rows.start * ratios[1])
        width = ceil(columns.stop * ratios[0]) - x
        height = ceil(rows.stop * ratios[1]) - y
        rgba = composite(patches, x, y, width, height)
        rgba = shrunk(shrunk(rgba, columns, ratios[0], 1), rows, ratios[1], 0)
        return [whole(Image(rgba), columns.start, rows.start)]

    return squeezed_patches


def shrunk(rgba: NDArray[np.uint8], kept: range, ratio: Fraction, axis: int) -> NDArray[np.uint8]:
    """An image with fewer rows (axis 0) or columns (axis 1), each the mean of what it covers.

    rgba : uint8, shape (rows, columns, 4), premultiplied; it starts with the sample that
    holds the beginning of the first one kept.
    kept : numbers of the rows or columns wanted. ratio : samples of the image to each.
    """
    if ratio == 1:
        return rgba
    step, origin = float(ratio), int(kept.start * ratio)
    starts = np.array([float(number * ratio - origin) for number in kept])
    first = np.floor(starts).astype(np.int64)
    shape = [1, 1, 1]
    shape[axis] = len(kept)
    total = np.zeros((), np.float32)
    for tap in range(ceil(ratio) + 1):
        covered = np.minimum(starts + step, first + tap + 1) - np.maximum(starts, first + tap)
        weights = (np.clip(covered, 0, 1) / step).astype(np.float32).reshape(shape)
        total = total + weights * rgba.take(first + tap, axis, mode="clip")
    return np.ascontiguousarray((total + np.float32(0.5)).astype(np.uint8))


def _covering(start: int, end: int, ratio: Fraction, limit: int) -> range:
    """Even range of stored rows or columns that holds [start, end) of the drawn ones."""
    return range(even(start / ratio), min(even(ceil(end / ratio) + 1), limit))
