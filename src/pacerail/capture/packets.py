"""The packets of one stream, read on past damage."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import av
from av.container import InputContainer
from av.video.stream import VideoStream

# Failures to read in a row, after which the rest of a file is given up. (Our choice.)
MOST_FAILURES = 20


def video_packets(
    container: InputContainer, video: VideoStream, failed: Callable[[], None]
) -> Iterator[av.Packet[Any]]:
    """Every packet that can be read, the flush packet last; `failed` is called at each break.

    The library's own iteration ends at an error, yet reading can go on behind it. Besides
    its own errors it raises IndexError when a stream appears that the start of the file
    did not announce, as recorders of transport streams let sound appear.
    """
    failures = 0
    while failures < MOST_FAILURES:
        try:
            for packet in container.demux(video):
                yield packet
                failures = 0
        except (av.FFmpegError, IndexError):
            failures += 1
            failed()
        else:
            return
