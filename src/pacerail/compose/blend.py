"""Painting patches into a decoded picture: only the samples beneath them are touched."""

from __future__ import annotations

from collections.abc import Sequence

import av
import numpy as np

from pacerail.compose.layout import Samples, component_views
from pacerail.compose.planes import FIXED_BITS, Factors, PlaneCache
from pacerail.compose.turn import turn_back
from pacerail.patch import Patch

# Samples worked on at a time: the work buffer then stays within the second level
# cache (bands of 16 to 400 rows of 1728 were timed; from 80 rows on it makes no odds).
BAND_SAMPLES = 160 * 1024


class Blender:
    """Blends patches into frames of one layout; keeps converted images and a work buffer."""

    def __init__(self, cache: PlaneCache) -> None:
        self._cache = cache
        work = np.empty(BAND_SAMPLES, np.float32)
        self._work: Factors = work.view(np.uint16) if cache.layout.is_fixed_point else work

    def blend(self, frame: av.VideoFrame, patches: Sequence[Patch]) -> None:
        """Paint the patches in order, in place: out = footage * (1 - alpha) + graphics.

        The frame must be writable (`make_writable`) and of the cache's pixel format.
        Raises ValueError for a patch that reaches outside the picture.
        """
        layout = self._cache.layout
        views = component_views(frame, layout)
        width, height = frame.width // 2 * 2, frame.height // 2 * 2
        for seen in patches:
            patch = turn_back(seen, self._cache.quarter_turns, width, height)
            _check_inside(patch, frame)
            for component, planes in enumerate(self._cache.planes(patch.image)):
                rows, columns = layout.steps(component)
                target = views[component][
                    patch.y // rows : (patch.y + patch.height) // rows,
                    patch.x // columns : (patch.x + patch.width) // columns,
                ]
                source = (
                    slice(patch.source_y // rows, (patch.source_y + patch.height) // rows),
                    slice(patch.source_x // columns, (patch.source_x + patch.width) // columns),
                )
                self._blend_plane(target, planes.term[source], planes.keep[source])

    def _blend_plane(self, target: Samples, term: Factors, keep: Factors) -> None:
        layout = self._cache.layout
        rows, columns = target.shape
        band_rows = max(BAND_SAMPLES // max(columns, 1), 1)
        for top in range(0, rows, band_rows):
            band = slice(top, top + band_rows)
            samples = target[band]
            work = self._work[: samples.size].reshape(samples.shape)
            np.multiply(samples, keep[band], out=work)
            np.add(work, term[band], out=work)
            if layout.is_fixed_point:
                np.right_shift(work, FIXED_BITS, out=work)
            samples[...] = work  # truncates; the term carries the half for rounding
            if layout.shift:
                np.left_shift(samples, layout.shift, out=samples)


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
