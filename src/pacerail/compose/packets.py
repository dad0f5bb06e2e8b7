"""The packets of some streams, read on past damage."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import av

# Failures to read in a row, after which the rest of a file is given up. (Our choice.)
MOST_FAILURES = 20


def readable_packets(
    container: av.container.InputContainer, streams: Sequence[av.VideoStream | av.AudioStream]
) -> Iterator[av.Packet[Any]]:
    """Every packet that can be read, from where the container stands, the flush packets last.

    The library's own iteration ends at an error, yet reading can go on behind it. Besides
    its own errors it raises IndexError when a stream appears that the start of the file
    did not announce, as recorders of transport streams let sound appear.
    """
    failures = 0
    while failures < MOST_FAILURES:
        try:
            for packet in container.demux(list(streams)):
                yield packet
                failures = 0
        except (av.FFmpegError, IndexError):
            failures += 1
        else:
            return
