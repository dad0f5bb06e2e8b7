"""Luma of a short stretch of a capture, reached by seeking rather than from the start."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import av
from av.container import InputContainer
from av.video.stream import VideoStream

from pacerail.capture.container import open_container, video_stream
from pacerail.capture.luma import luma_layout
from pacerail.errors import InputError
from pacerail.picture import Luma


@dataclass(frozen=True, eq=False)
class Glance:
    """One picture and when it appears."""

    start_s: float
    """Seconds from the first picture of the capture."""
    luma: Luma
    """Shape (rows, columns); a view that must not be written to."""
    bit_depth: int
    owner: av.VideoFrame
    """Keeps `luma` valid."""


def glances(path: Path, start_s: float, end_s: float | None = None) -> Iterator[Glance]:
    """The pictures on screen in [start_s, end_s), the one that `start_s` falls into first.

    end_s : None for the end of the capture.
    Raises InputError for anything that is not a readable video file.
    """
    container, _ = open_container(path)
    with container:
        video = video_stream(container, path)
        video.thread_type = "AUTO"
        seconds = float(video.time_base or 1)
        first = next((frame.pts for frame in container.decode(video)), 0) or 0
        container.seek(first + int(start_s / seconds), stream=video)
        yield from _between(container, video, path, first * seconds, start_s, end_s)


def _between(
    container: InputContainer,
    video: VideoStream,
    path: Path,
    origin_s: float,
    start_s: float,
    end_s: float | None,
) -> Iterator[Glance]:
    before: av.VideoFrame | None = None
    try:
        for frame in container.decode(video):
            if frame.time is None:
                continue
            moment_s = frame.time - origin_s
            if moment_s > start_s and before is not None:
                yield _glance(before, origin_s)
                before = None
            if end_s is not None and moment_s >= end_s:
                return
            if moment_s <= start_s:
                before = frame
            else:
                yield _glance(frame, origin_s)
    except av.FFmpegError as error:
        raise InputError(
            f"capture must decode from {start_s:.3f} s on, got {error} in {path}; repair it"
        ) from error
    if before is not None:
        yield _glance(before, origin_s)


def _glance(frame: av.VideoFrame, origin_s: float) -> Glance:
    layout = luma_layout(frame.format.name)
    return Glance((frame.time or 0.0) - origin_s, layout.view(frame), layout.bit_depth, frame)
