"""Clips whose pictures tell their own number, lossless, for following each through a job."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

import av
import numpy as np

DARKEST, STEP = 40, 3
MOST = 60
"""Pictures that have different codes."""


def write_numbered(
    path: Path,
    pictures: Sequence[int],
    *,
    rate: Fraction = Fraction(60),
    size: tuple[int, int] = (64, 36),
) -> Path:
    """A flat picture at each of these refreshes, as light as the number of its refresh."""
    with av.open(str(path), "w") as output:
        video = output.add_stream("ffv1", rate=rate, time_base=Fraction(1, 1000))
        assert isinstance(video, av.VideoStream)
        video.width, video.height = size
        video.pix_fmt = "yuv420p"
        context = video.codec_context
        context.colorspace = context.color_range = 1
        context.color_primaries = context.color_trc = 1
        for refresh in pictures:
            luma = np.full((size[1], size[0]), code_of(refresh), np.uint8)
            chroma = np.full((size[1] // 2, size[0]), 128, np.uint8)
            frame = av.VideoFrame.from_ndarray(np.vstack([luma, chroma]), "yuv420p")
            frame.time_base = Fraction(1, 1000)
            frame.pts = round(refresh / rate * 1000)
            output.mux(video.encode(frame))
        output.mux(video.encode(None))
    return path


def code_of(refresh: int) -> int:
    """Luma of the picture of a refresh."""
    return DARKEST + STEP * (refresh % MOST)


def number_of(code: float) -> int:
    """Refresh, up to a multiple of MOST, whose picture has about that luma."""
    return round((code - DARKEST) / STEP)
