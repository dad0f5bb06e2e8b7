"""Luma of a short stretch of a capture, reached by seeking rather than from the start."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import av

from pacerail.capture.container import open_container, video_stream
from pacerail.capture.entry import frames_from
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
        tick_s = float(video.time_base or 1)
        try:
            first = next((frame.pts for frame in container.decode(video)), 0) or 0
            start = first + round(start_s / tick_s)
            end = None if end_s is None else first + round(end_s / tick_s)
            for frame, pts in _between(frames_from(container, video, path, start), start, end):
                layout = luma_layout(frame.format.name)
                yield Glance((pts - first) * tick_s, layout.view(frame), layout.bit_depth, frame)
        except av.FFmpegError as error:
            raise InputError(
                f"capture must decode from {start_s:.3f} s on, got {error} in {path}; repair it"
            ) from error


def _between(
    frames: Iterable[av.VideoFrame], start: int, end: int | None
) -> Iterator[tuple[av.VideoFrame, int]]:
    """The frames on screen from one tick to another, each with its own."""
    before: tuple[av.VideoFrame, int] | None = None
    for frame in frames:
        if frame.pts is None:
            continue
        if frame.pts > start and before is not None:
            yield before
            before = None
        if end is not None and frame.pts >= end:
            return
        if frame.pts <= start:
            before = frame, frame.pts
        else:
            yield frame, frame.pts
    if before is not None:
        yield before
