"""A clip made of pictures that were worked out one by one: BT.709, narrow range, H.264."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.video.reformatter import Interpolation
from numpy.typing import NDArray

from pacerail.compose.colour import NARROW_RANGE
from pacerail.compose.encode import DEFAULT_ENCODER, add_video_stream, encoder_setup
from pacerail.compose.footage import BT709, Footage
from pacerail.compose.tags import tag_video

_FLAGS = Interpolation.BICUBIC | Interpolation.ACCURATE_RND | Interpolation.FULL_CHR_H_INP


def write_frozen(
    pictures: Iterable[NDArray[np.uint8]],
    size: tuple[int, int],
    rate: Fraction,
    part: Path,
    *,
    container_format: str,
    progress: Callable[[int], None] = lambda pictures: None,
) -> None:
    """Encode R'G'B' pictures, shape (rows, columns, 3), of an even width and height."""
    footage = Footage(*size, "yuv420p", BT709, NARROW_RANGE, BT709, BT709)
    setup = encoder_setup(DEFAULT_ENCODER, footage)
    time_base = 1 / rate
    scale = {"movie_timescale": str(time_base.denominator)}
    with av.open(str(part), "w", format=container_format, container_options=scale) as output:
        stream = add_video_stream(output, setup, footage, rate=rate, time_base=time_base)
        tag_video(stream, footage, None, None)
        shown: NDArray[np.uint8] | None = None
        for number, rgb in enumerate(pictures):
            if rgb is not shown:
                shown = rgb
                frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(rgb), "rgb24").reformat(
                    format="yuv420p",
                    interpolation=_FLAGS,
                    dst_colorspace=BT709,
                    dst_color_range=NARROW_RANGE,
                )
            frame.pts, frame.time_base, frame.duration = number, time_base, 1
            output.mux(stream.encode(frame))
            progress(number + 1)
        output.mux(stream.encode(None))
