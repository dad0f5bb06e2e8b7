"""Painting patches into a decoded picture: only the samples beneath them are touched."""

from __future__ import annotations

from collections.abc import Sequence

import av
import numpy as np

from pacerail.compose.layout import Samples, plane_views
from pacerail.compose.planes import FIXED_BITS, Factors, PlaneCache
from pacerail.compose.turn import turn_back
from pacerail.patch import Patch

# Worked on at a time: the buffer and what goes with it then stay within the second level
# cache (bands of 10 to 400 rows were timed: from 40 rows on it makes no odds).
BAND_BYTES = 320 << 10
# A Python number would be converted anew in every call.
_FIXED_SHIFT = np.uint16(FIXED_BITS)

Area = tuple[slice, slice]


class Blender:
    """Blends patches into frames of one layout; keeps converted images and a work buffer."""

    def __init__(self, cache: PlaneCache) -> None:
        self._cache = cache
        layout = cache.layout
        self._cells = [
            (*layout.steps(component), layout.components[component].step)
            for component, *_ in layout.planes
        ]
        work = np.empty(BAND_BYTES, np.uint8)
        self._work: Factors = (
            work.view(np.uint16) if layout.is_fixed_point else work.view(np.float32)
        )

    def blend(self, frame: av.VideoFrame, patches: Sequence[Patch]) -> None:
        """Paint the patches in order, in place: out = footage * (1 - alpha) + graphics.

        The frame must be writable (`make_writable`) and of the cache's pixel format.
        Raises ValueError for a patch that reaches outside the picture.
        """
        views = plane_views(frame, self._cache.layout)
        width, height = frame.width // 2 * 2, frame.height // 2 * 2
        for seen in patches:
            patch = turn_back(seen, self._cache.quarter_turns, width, height)
            _check_inside(patch, frame)
            converted = self._cache.planes(patch.image)
            for view, planes, cell in zip(views, converted, self._cells, strict=True):
                target, source = _areas(patch, *cell)
                self._blend_plane(view[target], planes.term[source], planes.keep[source])

    def _blend_plane(self, samples: Samples, term: Factors, keep: Factors) -> None:
        if samples.size > self._work.size:
            middle = len(samples) // 2
            self._blend_plane(samples[:middle], term[:middle], keep[:middle])
            self._blend_plane(samples[middle:], term[middle:], keep[middle:])
            return
        layout = self._cache.layout
        work = self._work[: samples.size].reshape(samples.shape)
        np.copyto(work, samples)
        np.multiply(work, keep, out=work)
        np.add(work, term, out=work)
        if layout.is_fixed_point:
            np.right_shift(work, _FIXED_SHIFT, out=work)
        samples[...] = work  # truncates; the term carries the half for rounding
        if layout.shift:
            np.left_shift(samples, layout.shift, out=samples)


def _areas(patch: Patch, rows: int, columns: int, step: int) -> tuple[Area, Area]:
    """Slices of a plane and of the image's, for `step` samples per so many rows and columns."""
    height, width = patch.height // rows, patch.width // columns * step
    y, x = patch.y // rows, patch.x // columns * step
    source_y, source_x = patch.source_y // rows, patch.source_x // columns * step
    return (
        (slice(y, y + height), slice(x, x + width)),
        (slice(source_y, source_y + height), slice(source_x, source_x + width)),
    )


def _check_inside(patch: Patch, frame: av.VideoFrame) -> None:
    if (
        patch.x < 0
        or patch.y < 0
        or patch.x + patch.width > frame.width
        or patch.y + patch.height > frame.height
    ):
        raise ValueError(
            f"patch must lie inside the picture of {frame.width}x{frame.height}, got "
            f"{patch.width}x{patch.height} at {patch.x},{patch.y}"
        )
