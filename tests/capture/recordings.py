"""Small recordings with every fault that a reader must cope with."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

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
    frames: Sequence[int | tuple[int, int]] | None = None,
) -> Path:
    """A recording of a moving pattern, one picture at each of `ticks` (of 1 / rate by default).

    frames : the frame that each picture shows; by default each shows the next. A pair gives
        the left half a frame of its own, then the right half.
    """
    with av.open(str(path), "w", format=container_format) as container:
        base = time_base or 1 / rate
        video = container.add_stream(
            encoder, rate=rate, time_base=base, options=options or {"preset": "ultrafast"}
        )
        assert isinstance(video, av.VideoStream)
        video.width, video.height = size
        video.pix_fmt = pixel_format
        context = video.codec_context
        context.colorspace = context.color_range = 1  # BT.709 (ITU-T H.273), narrow
        if timecode:
            video.metadata["timecode"] = timecode
        row, column = np.mgrid[: size[1], : size[0]]
        for index, tick in enumerate(ticks):
            moved = index if frames is None else frames[index]
            left, right = moved if isinstance(moved, tuple) else (moved, moved)
            shift = np.where(column < size[0] // 2, left, right) * 7
            grey = ((column * 2 + row + shift) % 256).astype(np.uint8)
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


def record_holds(path: Path, holds: Iterable[int], **options: Any) -> Path:
    """A lossless recording in which each frame is held for so many refreshes."""
    frames = [frame for frame, hold in enumerate(holds) for _ in range(hold)]
    lossless = {"preset": "ultrafast", "qp": "0"}
    return record(path, range(len(frames)), frames=frames, options=lossless, **options)
