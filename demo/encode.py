"""Writes pictures of a simulation into a video file, as a recorder would."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.video.reformatter import ColorRange, Colorspace, VideoReformatter
from numpy.typing import NDArray

from demo.simulator import CapturedPicture, Simulation
from demo.sound import SAMPLE_RATE_HZ, harbour_sound
from demo.truth import Truth
from pacerail.files import atomic_output

# ITU-T H.273 code points of BT.709: matrix, primaries and transfer are 1; FFmpeg's
# colour range 1 is the narrow one.
BT709 = 1
NARROW_RANGE = 1

# What keeps each encoder exact about its input, by encoder.
LOSSLESS: Mapping[str, Mapping[str, str]] = {
    "libx264": {"qp": "0", "preset": "ultrafast"},
    "ffv1": {},
}

_SILENT: Mapping[str, Mapping[str, str]] = {"libx265": {"x265-params": "log-level=none"}}


@dataclass(frozen=True)
class Encoding:
    """How a capture is coded."""

    encoder: str = "libx264"
    """libx264, libx265, libsvtav1, ffv1, mjpeg or prores_ks."""
    pix_fmt: str = "yuv420p"
    options: Mapping[str, str] = field(default_factory=lambda: {"crf": "20", "preset": "veryfast"})
    bit_rate: int | None = None
    """Constant bits per second without B-pictures (libx264); None leaves it to `options`."""
    size: tuple[int, int] | None = None
    """(width, height) that the recorder resizes to; None keeps the size drawn."""
    noise_sigma: float = 0.0
    """Standard deviation of noise added to luma before coding, in 8-bit code values."""
    noise_seed: int = 1
    audio: bool = True
    timecode: str | None = None
    """Start timecode ``hh:mm:ss:ff``."""

    def encoder_options(self) -> dict[str, str]:
        """Options for the encoder, rate control included."""
        options = dict(_SILENT.get(self.encoder, {})) | dict(self.options)
        if self.bit_rate is not None:
            bits = str(self.bit_rate)
            options.pop("crf", None)
            options |= {"maxrate": bits, "bufsize": bits, "bf": "0", "nal-hrd": "cbr"}
        return options


def write_capture(
    path: Path, simulation: Simulation, encoding: Encoding, *, overwrite: bool = False
) -> Truth:
    """Run the simulation into a file, whose suffix names the container; return its truth."""
    refresh_hz = simulation.display.refresh_hz
    write_pictures(
        path, simulation.pictures(), refresh_hz, simulation.refreshes, encoding, overwrite=overwrite
    )
    truth = simulation.truth
    return truth.resized(encoding.size[1]) if encoding.size else truth


def write_pictures(
    path: Path,
    pictures: Iterable[CapturedPicture],
    refresh_hz: Fraction,
    refreshes: int,
    encoding: Encoding,
    *,
    overwrite: bool = False,
) -> None:
    """Encode the pictures, each at the PTS of its refresh, with sound of the same length.

    Raises OutputError or UsageError as `atomic_output` does.
    """
    with atomic_output(path, overwrite=overwrite) as part, av.open(str(part), "w") as container:
        video: av.VideoStream | None = None
        audio: _Audio | None = None
        frames = _FrameMaker(encoding)
        for picture in pictures:
            if video is None:
                rows, columns = picture.rgb.shape[:2]
                width, height = encoding.size or (columns, rows)
                video = _add_video(container, encoding, refresh_hz, width, height)
                if encoding.audio:
                    audio = _Audio(container, float(refreshes / refresh_hz))
            frame = frames.frame(picture.rgb)
            frame.pts, frame.time_base = picture.refresh, 1 / refresh_hz
            container.mux(video.encode(frame))
            if audio is not None:
                audio.mux_until(float((picture.refresh + 1) / refresh_hz))
        if video is None:
            raise ValueError("a capture must hold at least one picture")
        container.mux(video.encode(None))
        if audio is not None:
            audio.finish()


def _add_video(
    container: av.container.OutputContainer,
    encoding: Encoding,
    refresh_hz: Fraction,
    width: int,
    height: int,
) -> av.VideoStream:
    video = container.add_stream(
        encoding.encoder, rate=refresh_hz, options=encoding.encoder_options()
    )
    assert isinstance(video, av.VideoStream)
    video.width, video.height, video.pix_fmt = width, height, encoding.pix_fmt
    video.time_base = 1 / refresh_hz
    context = video.codec_context
    context.time_base = 1 / refresh_hz
    context.colorspace = context.color_primaries = context.color_trc = BT709
    context.color_range = NARROW_RANGE
    context.thread_type = "AUTO"
    if encoding.bit_rate is not None:
        context.bit_rate = encoding.bit_rate
    if encoding.encoder == "libx265":
        context.codec_tag = "hvc1"
    if encoding.timecode is not None:
        video.metadata["timecode"] = encoding.timecode
    return video


class _FrameMaker:
    """Turns pictures into frames of the capture's format; converts each array once."""

    def __init__(self, encoding: Encoding) -> None:
        self._encoding = encoding
        self._reformatter = VideoReformatter()
        self._rgb: NDArray[np.uint8] | None = None
        self._converted: av.VideoFrame | None = None
        self._noise: _Noise | None = None

    def frame(self, rgb: NDArray[np.uint8]) -> av.VideoFrame:
        """A fresh frame, as encoders keep hold of what they are given."""
        if self._converted is None or rgb is not self._rgb:
            self._rgb, self._converted = rgb, self._convert(rgb)
        source = self._converted
        frame = av.VideoFrame(source.width, source.height, source.format.name)
        for plane, original in zip(frame.planes, source.planes, strict=True):
            memoryview(plane)[:] = memoryview(original)
        frame.colorspace, frame.color_range = BT709, NARROW_RANGE
        if self._encoding.noise_sigma:
            if self._noise is None:
                self._noise = _Noise(self._encoding, source.height, source.width)
            self._noise.add_to(frame)
        return frame

    def _convert(self, rgb: NDArray[np.uint8]) -> av.VideoFrame:
        layout = "rgba" if rgb.shape[2] == 4 else "rgb24"
        drawn = av.VideoFrame.from_numpy_buffer(np.ascontiguousarray(rgb), format=layout)
        width, height = self._encoding.size or (drawn.width, drawn.height)
        return self._reformatter.reformat(
            drawn,
            width=width,
            height=height,
            format=self._encoding.pix_fmt,
            dst_colorspace=Colorspace.ITU709,
            dst_color_range=ColorRange.MPEG,
        )


class _Noise:
    """Fresh-looking noise for every picture: a random window onto one larger field."""

    def __init__(self, encoding: Encoding, rows: int, columns: int) -> None:
        self._rng = np.random.default_rng(encoding.noise_seed)
        self._bits = 10 if "10" in encoding.pix_fmt else 8
        scale = encoding.noise_sigma * (1 << (self._bits - 8))
        field_shape = (rows + rows // 2, columns + columns // 2)
        self._field = np.rint(self._rng.normal(0.0, scale, field_shape)).astype(np.int16)

    def add_to(self, frame: av.VideoFrame) -> None:
        """Add noise to the luma plane in place."""
        plane = frame.planes[0]
        dtype = np.dtype(np.uint8 if self._bits == 8 else np.uint16)
        luma: NDArray[np.uint16] = np.ndarray(
            (plane.height, plane.width),
            dtype,
            memoryview(plane),
            0,
            (plane.line_size, dtype.itemsize),
        )
        rows, columns = luma.shape
        top, left = (
            int(self._rng.integers(0, spare + 1))
            for spare in (self._field.shape[0] - rows, self._field.shape[1] - columns)
        )
        noisy = luma + self._field[top : top + rows, left : left + columns]
        luma[...] = np.clip(noisy, 0, (1 << self._bits) - 1)


class _Audio:
    """The sound track, muxed alongside the pictures."""

    def __init__(self, container: av.container.OutputContainer, duration_s: float) -> None:
        stream = container.add_stream("aac", rate=SAMPLE_RATE_HZ, layout="stereo")
        assert isinstance(stream, av.AudioStream)
        stream.bit_rate = 96_000
        self._container, self._stream = container, stream
        self._samples = harbour_sound(duration_s)
        self._next = 0

    def mux_until(self, time_s: float) -> None:
        """Encode all sound up to that moment."""
        end = min(int(time_s * SAMPLE_RATE_HZ), self._samples.shape[1])
        while self._next < end:
            block = np.ascontiguousarray(self._samples[:, self._next : self._next + 1024])
            frame = av.AudioFrame.from_ndarray(block, format="fltp", layout="stereo")
            frame.sample_rate = SAMPLE_RATE_HZ
            frame.pts, frame.time_base = self._next, Fraction(1, SAMPLE_RATE_HZ)
            self._container.mux(self._stream.encode(frame))
            self._next += block.shape[1]

    def finish(self) -> None:
        """Encode what is left and flush."""
        self.mux_until(self._samples.shape[1] / SAMPLE_RATE_HZ)
        self._container.mux(self._stream.encode(None))
