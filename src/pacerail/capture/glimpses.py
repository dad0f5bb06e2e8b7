"""A few pictures from all over a capture, without decoding what lies between."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice
from pathlib import Path

import av

from pacerail.capture.container import open_container, video_stream
from pacerail.capture.entry import frames_from
from pacerail.capture.luma import luma_layout
from pacerail.errors import InputError
from pacerail.picture import Luma

# A seek ends at the intra picture before; from there at most so many pictures are decoded on
# the way to the place asked for. Half a second at 60 Hz is far enough to differ. (Our choice.)
MOST_DECODED = 30


def glimpses(path: Path, count: int) -> Iterator[tuple[Luma, int]]:
    """Luma and bit depth of up to `count` pictures, evenly spread where the file lets us seek.

    Where it does not, the first pictures are given. Places that cannot be decoded are passed
    over. Raises InputError for anything that is not a readable video file.
    """
    container, _ = open_container(path)
    with container:
        video = video_stream(container, path)
        start, length = video.start_time or 0, video.duration or 0
        if not length and container.duration and video.time_base:
            length = int(container.duration / av.time_base / video.time_base)
        for number in range(count):
            place = start + length * number // count
            try:
                frames = (
                    frames_from(container, video, path, place)
                    if length
                    else container.decode(video)
                )
                frame = _frame_at(frames, place)
            except InputError:
                length = 0
                continue
            except (av.FFmpegError, IndexError):
                continue
            if frame is None:
                return
            layout = luma_layout(frame.format.name)
            yield layout.view(frame).copy(), layout.bit_depth


def _frame_at(frames: Iterator[av.VideoFrame], target: int) -> av.VideoFrame | None:
    """The first frame at or after `target`, or the last of those that are tried on the way."""
    frame = None
    for frame in islice(frames, MOST_DECODED):
        if frame.pts is None or frame.pts >= target:
            break
    return frame
