"""Small recordings with every fault that a reader must cope with."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path

import av
import numpy as np

ROWS, COLUMNS = 96, 128


def record(
    path: Path,
    ticks: Iterable[int],
    *,
    rate: Fraction = Fraction(60),
    time_base: Fraction | None = None,
    encoder: str = "libx264",
    pixel_format: str = "yuv420p",
    options: dict[str, str] | None = None,
    size: tuple[int, int] = (COLUMNS, ROWS),
    container_format: str | None = None,
    timecode: str | None = None,
) -> Path:
    """A recording of a moving ramp, one picture at each of `ticks` (of 1 / rate by default)."""
    with av.open(str(path), "w", format=container_format) as container:
        base = time_base or 1 / rate
        video = container.add_stream(
            encoder, rate=rate, time_base=base, options=options or {"preset": "ultrafast"}
        )
        assert isinstance(video, av.VideoStream)
        video.width, video.height = size
        video.pix_fmt = pixel_format
        if timecode:
            video.metadata["timecode"] = timecode
        row, column = np.mgrid[: size[1], : size[0]]
        for index, tick in enumerate(ticks):
            grey = ((column * 2 + row + index * 7) % 256).astype(np.uint8)
            frame = av.VideoFrame.from_ndarray(np.dstack([grey, grey, grey]), "rgb24")
            frame = frame.reformat(format=pixel_format)
            frame.pts, frame.time_base = tick, base
            container.mux(video.encode(frame))
        container.mux(video.encode(None))
    return path


def record_sound(path: Path) -> Path:
    """A file with sound and no pictures."""
    with av.open(str(path), "w") as container:
        audio = container.add_stream("aac", rate=48_000)
        assert isinstance(audio, av.AudioStream)
        frame = av.AudioFrame.from_ndarray(np.zeros((2, 1024), np.float32), "fltp")
        frame.sample_rate = 48_000
        container.mux(audio.encode(frame))
        container.mux(audio.encode(None))
    return path
