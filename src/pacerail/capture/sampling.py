"""A sample of the time stamps of a capture, read without decoding."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import islice, pairwise

import av
import numpy as np
from av.container import InputContainer
from av.video.stream import VideoStream
from numpy.typing import NDArray

from pacerail.capture.grid import BACK_JUMP_S
from pacerail.capture.packets import video_packets

# Packets at the start: 10 s at 60 Hz, enough to tell 59.94 from 60 in milliseconds (1 ms in
# 10 s is a tenth of what lies between them).
FIRST_PACKETS = 600
# Recordings of a variable rate may open with a slow menu: look further in, too. (Our choice.)
LATER_PACKETS = 200
LATER_SHARES = (Fraction(1, 4), Fraction(1, 2), Fraction(3, 4))


@dataclass(frozen=True)
class Sample:
    """Time stamps in stretches that each run on without a restart of the clock."""

    stretches: tuple[NDArray[np.int64], ...]
    """Ticks in file order, each of shape (n,)."""
    packets: int
    """Packets read, with and without time stamps."""
    is_complete: bool
    """True where every packet has a time stamp."""


def sample_time_stamps(container: InputContainer, video: VideoStream) -> Sample:
    """Time stamps from the start of a capture, and from further in where it is long.

    The container's place in the file is lost. Damage is passed over: reading the pictures
    meets it again, and tells of it then.
    """
    time_base = Fraction(video.time_base or 0)
    pts = _next_pts(container, video, FIRST_PACKETS)
    samples = [pts]
    known = [tick for tick in pts if tick is not None]
    if len(pts) == FIRST_PACKETS and known and container.duration and time_base:
        start = video.start_time or 0
        duration = Fraction(container.duration, av.time_base) / time_base
        for share in LATER_SHARES:
            target = start + int(duration * share)
            if target <= max(known):
                continue
            try:
                container.seek(target, stream=video)
            except (av.FFmpegError, OSError):
                break
            samples.append(_next_pts(container, video, LATER_PACKETS))
    longest_step_back = int(BACK_JUMP_S / time_base) if time_base else 0
    return Sample(
        tuple(
            stretch
            for sample in samples
            for stretch in _split([tick for tick in sample if tick is not None], longest_step_back)
        ),
        sum(map(len, samples)),
        all(tick is not None for sample in samples for tick in sample),
    )


def _next_pts(container: InputContainer, video: VideoStream, count: int) -> list[int | None]:
    packets = video_packets(container, video, lambda: None)
    return [packet.pts for packet in islice((each for each in packets if each.size), count)]


def _split(ticks: list[int], longest_step_back: int) -> list[NDArray[np.int64]]:
    """Cut where the clock goes back by more than pictures are coded out of order."""
    cuts = [
        index
        for index, (before, after) in enumerate(pairwise(ticks), 1)
        if before - after > longest_step_back
    ]
    return np.split(np.array(ticks, np.int64), cuts) if ticks else []
