"""Tiny clips and overlays that the compose tests work on."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
from numpy.typing import NDArray

from pacerail.patch import Image, Patch, whole

RATE = 48000
AUDIO_SAMPLES = 1024


def moving_picture(index: int, width: int, height: int) -> NDArray[np.uint8]:
    """Colour gradients that move with the index; RGB, shape (height, width, 3)."""
    rows, columns = np.mgrid[0:height, 0:width]
    red = (columns * 2 + index * 4) % 256
    green = (rows * 3 + index) % 256
    blue = ((columns + rows) * 2 + index * 2) % 256
    return np.stack([red, green, blue], 2).astype(np.uint8)


def sound(first: int, count: int) -> NDArray[np.float32]:
    """A tone that rises through the clip, so that no two moments sound alike."""
    moment = (np.arange(count) + first) / RATE
    return (0.3 * np.sin(2 * np.pi * (300 + 400 * moment) * moment)).astype(np.float32)


def write_clip(
    path: Path,
    *,
    container_format: str = "mp4",
    pictures: int = 40,
    width: int = 320,
    height: int = 180,
    rate: Fraction = Fraction(60),
    pixel_format: str = "yuv420p",
    codec: str = "libx264",
    options: dict[str, str] | None = None,
    tags: tuple[int, int, int, int] = (1, 1, 1, 1),
    audio: str | None = "aac",
    pts: Sequence[int] | None = None,
    time_base: Fraction | None = None,
) -> Path:
    """A clip with a moving picture and a tone; tags are matrix, range, primaries, transfer."""
    with av.open(str(path), "w", format=container_format) as output:
        video = output.add_stream(
            codec,
            rate=rate,
            time_base=time_base or 1 / rate,
            options=options or {"preset": "veryfast", "crf": "20"},
        )
        assert isinstance(video, av.VideoStream)
        video.width, video.height, video.pix_fmt = width, height, pixel_format
        context = video.codec_context
        context.colorspace, context.color_range = tags[0], tags[1]
        context.color_primaries, context.color_trc = tags[2], tags[3]
        tone = None
        if audio:
            tone = output.add_stream(audio, rate=RATE, layout="mono")
        written = 0
        for index in range(pictures):
            rgb = av.VideoFrame.from_ndarray(moving_picture(index, width, height), "rgb24")
            frame = rgb.reformat(format=pixel_format, dst_colorspace="ITU709")
            frame.pts = index if pts is None else pts[index]
            frame.time_base = time_base or 1 / rate
            output.mux(video.encode(frame))
            while isinstance(tone, av.AudioStream) and written * rate < (index + 1) * RATE:
                output.mux(tone.encode(_tone_frame(tone, written)))
                written += AUDIO_SAMPLES
        output.mux(video.encode(None))
        if isinstance(tone, av.AudioStream):
            output.mux(tone.encode(None))
    return path


def _tone_frame(stream: av.AudioStream, first: int) -> av.AudioFrame:
    sample_format = stream.codec_context.format
    samples = sound(first, AUDIO_SAMPLES)[np.newaxis]
    whole: NDArray[Any] = samples
    if "s16" in sample_format.name:
        whole = np.round(samples * (2**15 - 1)).astype(np.int16)
    elif "s32" in sample_format.name:
        whole = np.round(samples * (2.0**31 - 129)).astype(np.int32)
    frame = av.AudioFrame.from_ndarray(whole, sample_format.name, "mono")
    frame.sample_rate, frame.pts = RATE, first
    return frame


def refresh_grid(path: Path, rate: Fraction) -> Callable[[int], int]:
    """Refresh of a time stamp of a clip, on a grid from its first picture."""
    with av.open(str(path)) as container:
        video = container.streams.video[0]
        time_base = Fraction(video.time_base or 0)
        first = next(packet.pts for packet in container.demux(video))
        start = video.start_time or first or 0
    return lambda pts: int(((pts - start) * time_base * rate + Fraction(1, 2)) // 1)


def plate(width: int = 200, height: int = 40) -> Image:
    """A translucent plate with opaque, half transparent and fully transparent parts."""
    rgba = np.zeros((height, width, 4), np.uint8)
    rgba[...] = (14, 14, 20, 190)
    rgba[8:32, 16:48] = (230, 150, 0, 255)
    rgba[8:32, 64:97] = (0, 57, 89, 128)
    rgba[8:32, 112:140] = 0
    rgba[5:35, 150:153] = 255
    return Image(rgba)


def overlay(refresh: int) -> list[Patch]:
    """A plate, and a bar that crosses it."""
    bar = Image(np.full((50, 4, 4), (200, 200, 200, 200), np.uint8))
    return [whole(plate(), 60, 120), whole(bar, 100 + 2 * (refresh % 20), 116)]


def frame_time_s(frame: av.VideoFrame) -> Fraction:
    """Exact time stamp of a decoded picture."""
    assert frame.pts is not None
    assert frame.time_base is not None
    return frame.pts * Fraction(frame.time_base)


def decoded(path: Path, pixel_format: str | None = None) -> list[av.VideoFrame]:
    """All pictures of a clip."""
    with av.open(str(path)) as container:
        return list(container.decode(video=0))


def blank_frame(pixel_format: str, width: int, height: int) -> av.VideoFrame:
    """A frame of zeros."""
    frame = av.VideoFrame(width, height, pixel_format)
    for plane in frame.planes:
        plane.update(bytes(plane.buffer_size))
    return frame
