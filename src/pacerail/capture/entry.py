"""Decoding from a moment on, however far a container's own search goes astray."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import av
from av.container import InputContainer
from av.video.stream import VideoStream

from pacerail.errors import InputError
from pacerail.seeking import places_before, seek


def frames_from(
    container: InputContainer, video: VideoStream, path: Path, tick: int
) -> Iterator[av.VideoFrame]:
    """Pictures in order to the end, the first of them at or before a time stamp.

    Where the capture has none so early, they are all that it has.
    Raises InputError when the file cannot be searched, and the library's own errors where a
    picture cannot be decoded.
    """
    start = video.start_time or 0
    for place in places_before(video, tick):
        try:
            seek(container, video, place)
        except OSError as error:
            raise InputError(
                f"capture must be a file that can be searched, got {path}; "
                "put the stream into an MP4 or Matroska file first"
            ) from error
        frames = container.decode(video)
        for frame in frames:
            if place > start and frame.pts is not None and frame.pts > tick:
                break
            yield frame
            yield from frames
            return
