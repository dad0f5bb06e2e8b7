"""One composed picture as a PNG, for trying a style at a moment without rendering a clip."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import av
import numpy as np
from numpy.typing import NDArray

from pacerail.compose.blend import Blender
from pacerail.compose.conform import Conformer
from pacerail.compose.footage import Footage, footage_of, seen_canvas
from pacerail.compose.layout import LAYOUTS, layout_of, nearest_format, plane_samples
from pacerail.compose.moment import frame_on_screen
from pacerail.compose.planes import PlaneCache
from pacerail.compose.seen import Rgb
from pacerail.compose.squeeze import squeezed
from pacerail.patch import Patch


def write_still(
    container: av.container.InputContainer,
    video: av.VideoStream,
    part: Path,
    patches: Sequence[Patch],
    refresh_of: Callable[[int], int],
    refresh: int,
) -> None:
    """Write the picture on screen at a refresh, with patches blended in.

    The file is the picture as it is seen, 8-bit RGB; HDR footage is written by its signal,
    without tone mapping. Raises InputError when no picture can be decoded.
    """
    found = frame_on_screen(container, video, refresh_of, refresh)
    footage = footage_of(found)
    target = footage.encoded_as(nearest_format(footage.pixel_format, LAYOUTS))
    layout = layout_of(target.pixel_format)
    cache = PlaneCache(layout, target.signal(layout), quarter_turns=footage.quarter_turns)
    frame = Conformer(footage, target).conform(found)
    stored = squeezed(lambda _: patches, seen_canvas(footage, video), footage.canvas)
    Blender(cache).blend(frame, stored(refresh))
    part.write_bytes(png_bytes(seen_rgb(frame, target)))


def seen_rgb(frame: av.VideoFrame, footage: Footage) -> NDArray[np.uint8]:
    """Full range RGB, shape (rows, columns, 3), turned as a player turns it."""
    rgb = Conformer(footage, footage.encoded_as("rgb24")).conform(frame)
    samples: NDArray[np.uint8] = plane_samples(rgb.planes[0], np.uint8, rgb.width * 3)
    return np.rot90(samples.reshape(rgb.height, -1, 3), -footage.quarter_turns)


def png_bytes(rgb: Rgb) -> bytes:
    """A PNG file of an RGB picture, shape (rows, columns, 3), of 8 or 16 bits by its type.

    Packed lightly: the tightest packing of a 1080-line picture takes half a second more.
    """
    name = "rgb24" if rgb.dtype == np.uint8 else "rgb48be"
    context: Any = av.CodecContext.create("png", "w")
    context.width, context.height, context.pix_fmt = rgb.shape[1], rgb.shape[0], name
    context.time_base = 1
    context.options = {"compression_level": "1", "pred": "up"}
    frame = av.VideoFrame(rgb.shape[1], rgb.shape[0], name)
    samples = plane_samples(frame.planes[0], np.uint8, rgb.shape[1] * 3 * rgb.itemsize)
    stored = np.ascontiguousarray(rgb, np.uint8 if rgb.dtype == np.uint8 else ">u2")
    samples[...] = stored.view(np.uint8).reshape(samples.shape)
    return b"".join(bytes(packet) for packet in [*context.encode(frame), *context.encode(None)])
