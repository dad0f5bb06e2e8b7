"""Painting patches into a decoded picture: only the samples beneath them are touched."""

from __future__ import annotations

from collections.abc import Sequence

import av
import numpy as np

from pacerail.compose.layout import Samples, component_views
from pacerail.compose.planes import Plane, PlaneCache
from pacerail.patch import Patch

# Samples worked on at a time: the float32 work buffer then stays within the second level
# cache (bands of 16 to 400 rows of 1728 were timed; from 80 rows on it makes no odds).
BAND_SAMPLES = 160 * 1024


class Blender:
    """Blends patches into frames of one layout; keeps converted images and a work buffer."""

    def __init__(self, cache: PlaneCache) -> None:
        self._cache = cache
        self._work = np.empty(BAND_SAMPLES, np.float32)

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
                self._blend_plane(target, planes.term[source], planes.keep[source], layout.shift)

    def _blend_plane(self, target: Samples, term: Plane, keep: Plane, shift: int) -> None:
        rows, columns = target.shape
        band_rows = max(BAND_SAMPLES // max(columns, 1), 1)
        for top in range(0, rows, band_rows):
            band = slice(top, top + band_rows)
            samples = target[band]
            work = self._work[: samples.size].reshape(samples.shape)
            np.multiply(samples, keep[band], out=work)
            np.add(work, term[band], out=work)
            samples[...] = work  # truncates; the term carries the half for rounding
            if shift:
                np.left_shift(samples, shift, out=samples)


def turn_back(patch: Patch, quarter_turns: int, width: int, height: int) -> Patch:
    """Where a patch of the picture as seen lies in the stored one, and in its turned image.

    quarter_turns : turns clockwise from the stored picture to the seen one.
    width, height : even size of the stored picture. The image stays the key of its planes.
    """
    for turns_left in range(quarter_turns, 0, -1):
        # One turn back (counterclockwise): x runs down the left side from the bottom.
        image_rows, image_columns, _ = patch.image.rgba.shape
        is_upright = (quarter_turns - turns_left) % 2 == 0
        source_span = image_columns if is_upright else image_rows
        # The size of the picture before this turn back, which shows it turns_left times.
        seen_width = height if turns_left % 2 else width
        patch = Patch(
            patch.image,
            x=patch.y,
            y=seen_width - patch.x - patch.width,
            source_x=patch.source_y,
            source_y=source_span - patch.source_x - patch.width,
            width=patch.height,
            height=patch.width,
        )
    return patch


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
