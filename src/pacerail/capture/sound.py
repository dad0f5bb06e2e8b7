"""The sound of a capture as one channel, in blocks, for telling when things are heard."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

from pacerail.capture.container import open_container

SAMPLE_RATE_HZ = 16_000
"""Enough for what envelopes show: bands up to 8 kHz."""
# Damaged packets in a row, after which the rest of the sound is given up. (Our choice.)
_MOST_FAILURES = 20


@dataclass(frozen=True, eq=False)
class SoundBlock:
    """Some consecutive samples."""

    start_s: Fraction
    """Moment of the first on the container's clock, on which pictures have theirs."""
    samples: NDArray[np.float32]
    """Shape (n,), mean of the channels, -1 to 1, at `SAMPLE_RATE_HZ`."""


def sound_blocks(path: Path) -> Iterator[SoundBlock]:
    """Sound of the first audio stream, nothing where there is none.

    Each block carries its own time, so that gaps stay gaps. What cannot be decoded is left
    out. Raises InputError for anything that is not a readable video file.
    """
    container, _ = open_container(path)
    with container:
        if not container.streams.audio:
            return
        stream = container.streams.audio[0]
        resampler = av.AudioResampler("flt", "mono", SAMPLE_RATE_HZ)
        failures = 0
        packets = container.demux(stream)
        while failures < _MOST_FAILURES:
            try:
                packet = next(packets)
                for frame in packet.decode():
                    for mono in resampler.resample(frame):
                        if mono.pts is not None and mono.time_base is not None:
                            yield SoundBlock(mono.pts * mono.time_base, mono.to_ndarray()[0])
                failures = 0
            except StopIteration:
                return
            except (av.FFmpegError, IndexError):
                failures += 1
                packets = container.demux(stream)
