"""One composed picture as a PNG, for trying a style at a moment without rendering a clip."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

from pacerail.compose.blend import Blender
from pacerail.compose.conform import Conformer
from pacerail.compose.footage import Footage, footage_of, seen_canvas
from pacerail.compose.layout import LAYOUTS, layout_of, nearest_format, plane_samples
from pacerail.compose.planes import PlaneCache
from pacerail.compose.png import png_bytes
from pacerail.compose.squeeze import squeezed
from pacerail.patch import Patch


def write_still(
    found: av.VideoFrame, video: av.VideoStream, part: Path, patches: Sequence[Patch]
) -> None:
    """Write a decoded picture of a stream with patches blended in.

    The file is the picture as it is seen, 8-bit RGB; HDR footage is written by its signal,
    without tone mapping.
    """
    footage = footage_of(found)
    target = footage.encoded_as(nearest_format(footage.pixel_format, LAYOUTS))
    layout = layout_of(target.pixel_format)
    cache = PlaneCache(layout, target.signal(layout), quarter_turns=footage.quarter_turns)
    frame = Conformer(footage, target).conform(found)
    stored = squeezed(lambda _: patches, seen_canvas(footage, video), footage.canvas)
    Blender(cache).blend(frame, stored(0))
    part.write_bytes(png_bytes(seen_rgb(frame, target)))


def seen_rgb(frame: av.VideoFrame, footage: Footage) -> NDArray[np.uint8]:
    """Full range RGB, shape (rows, columns, 3), turned as a player turns it."""
    rgb = Conformer(footage, footage.encoded_as("rgb24"), threads=0).conform(frame)
    samples: NDArray[np.uint8] = plane_samples(rgb.planes[0], np.uint8, rgb.width * 3)
    return np.rot90(samples.reshape(rgb.height, -1, 3), -footage.quarter_turns)
