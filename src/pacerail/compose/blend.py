"""Painting patches into a decoded picture: only the samples beneath them are touched."""

from __future__ import annotations

from collections.abc import Sequence

import av
import numpy as np

from pacerail.compose.layout import Samples, component_views
from pacerail.compose.planes import Plane, PlaneCache
from pacerail.patch import Patch

# Rows worked on at a time: a band of 1920 columns in float32 stays within the second
# level cache (bands of 4 to 220 rows were timed; 44 is at the flat bottom).
BAND_ROWS = 44


class Blender:
    """Blends patches into frames of one layout; keeps converted images and a work buffer."""

    def __init__(self, cache: PlaneCache) -> None:
        self._cache = cache
        self._work = np.empty(0, np.float32)

    def blend(self, frame: av.VideoFrame, patches: Sequence[Patch]) -> None:
        """Paint the patches in order, in place: out = footage * (1 - alpha) + graphics.

        The frame must be writable (`make_writable`) and of the cache's pixel format.
        Raises ValueError for a patch that reaches outside the picture.
        """
        layout = self._cache.layout
        views = component_views(frame, layout)
        for patch in patches:
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
                self._blend_plane(target, planes.term[source], planes.keep[source], layout.shift)

    def _blend_plane(self, target: Samples, term: Plane, keep: Plane, shift: int) -> None:
        rows, columns = target.shape
        if self._work.size < BAND_ROWS * columns:
            self._work = np.empty(BAND_ROWS * columns, np.float32)
        for top in range(0, rows, BAND_ROWS):
            band = slice(top, min(top + BAND_ROWS, rows))
            samples = target[band]
            work = self._work[: samples.shape[0] * columns].reshape(samples.shape)
            np.multiply(samples, keep[band], out=work)
            np.add(work, term[band], out=work)
            samples[...] = work  # truncates; the term carries the half for rounding
            if shift:
                np.left_shift(samples, shift, out=samples)


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
