"""Single pictures of a capture in colour, for showing rather than measuring."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

from pacerail.capture.container import open_container, video_stream
from pacerail.capture.entry import frames_from
from pacerail.errors import InputError


def rgb_stills(path: Path, moments_s: Sequence[float], columns: int) -> Iterator[NDArray[np.uint8]]:
    """The picture on screen at each moment: uint8 R'G'B', shape (rows, columns, 3).

    moments_s : seconds from the first picture, in any order.
    columns : width that pictures are scaled to, in the shape that a player shows.
    Raises InputError for anything that is not a readable video file.
    """
    container, _ = open_container(path)
    with container:
        video = video_stream(container, path)
        start = next((frame.pts for frame in container.decode(video)), 0) or 0
        for moment_s in moments_s:
            tick = start + round(moment_s / (video.time_base or 1))
            frame = _on_screen(frames_from(container, video, path, tick), tick)
            if frame is None:
                raise InputError(
                    f"capture must have a picture at {moment_s:.3f} s, got none in {path}; "
                    "repair it"
                )
            yield shown_rgb(frame, float(video.sample_aspect_ratio or 1), columns)


def _on_screen(frames: Iterator[av.VideoFrame], tick: int) -> av.VideoFrame | None:
    """The last frame that starts at or before a time stamp."""
    shown = None
    for frame in frames:
        if frame.pts is not None and frame.pts > tick and shown is not None:
            break
        shown = frame
    return shown


def shown_rgb(frame: av.VideoFrame, pixel_aspect: float, columns: int) -> NDArray[np.uint8]:
    """A frame as uint8 R'G'B', shape (rows, columns, 3), in the shape that a player shows."""
    rows = max(round(columns * frame.height / (frame.width * pixel_aspect)), 1)
    rgb = frame.reformat(
        width=columns, height=rows, format="rgb24", interpolation="BICUBIC"
    ).to_ndarray()
    return rgb.astype(np.uint8, copy=False)
