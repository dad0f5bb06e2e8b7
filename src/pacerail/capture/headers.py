"""What the headers and a sample of time stamps say about a capture."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

import av
from av.container import InputContainer
from av.video.codeccontext import VideoCodecContext
from av.video.stream import VideoStream

from pacerail.capture.info import CaptureInfo
from pacerail.capture.luma import luma_layout
from pacerail.capture.refresh_rate import find_refresh_rate
from pacerail.capture.sampling import Sample
from pacerail.errors import InputError, UsageError
from pacerail.timebase import snap_rate
from pacerail.timecode import Timecode

LOSSY_CODECS = frozenset(
    {"h264", "hevc", "av1", "vp8", "vp9", "mpeg1video", "mpeg2video", "mpeg4"}
    | {"mjpeg", "prores", "dnxhd", "vc1", "wmv3"}
)
"""By the names of libavcodec's descriptors."""


def read_info(
    path: Path,
    container: InputContainer,
    video: VideoStream,
    sample: Sample,
    refresh_hz: Fraction | None,
) -> CaptureInfo:
    """Facts of a capture; `refresh_hz` overrides the rate found.

    Raises InputError when the pixel format cannot be read or no refresh rate can be found.
    """
    codec = video.codec_context
    pixel_format = codec.pix_fmt or "unknown"
    luma_layout(pixel_format)
    time_base = Fraction(video.time_base or Fraction(1, 90000))
    names = container.format.name.split(",")
    # AVI stores no presentation order; libavformat makes time stamps up from the file order.
    has_time_stamps = sample.is_complete and not ("avi" in names and codec.has_b_frames)
    if refresh_hz:
        rate, reason = refresh_hz, "given by the user"
    elif has_time_stamps:
        stated = video.average_rate or video.guessed_rate
        rate, reason = find_refresh_rate(
            sample.stretches, time_base, Fraction(stated) if stated else None
        )
    else:
        rate, reason = _stated_rate(path, video)
    return CaptureInfo(
        path=path,
        size_bytes=path.stat().st_size,
        container_format=names[0],
        codec=codec.name,
        is_lossy=_is_lossy(codec),
        width=codec.width,
        height=codec.height,
        pixel_format=pixel_format,
        time_base=time_base,
        refresh_hz=rate,
        refresh_hz_reason=reason,
        has_time_stamps=has_time_stamps,
        stated_duration_s=_stated_duration(container, video, time_base),
        stated_pictures=video.frames or None,
        has_audio=bool(container.streams.audio),
        start_timecode=_start_timecode(container, video, rate),
    )


def _is_lossy(codec: VideoCodecContext) -> bool:
    """Lossless H.264 is of a profile of its own; other codecs are hardly ever used that way."""
    name, profile = codec.codec.canonical_name, codec.profile or ""
    return name in LOSSY_CODECS and not (name == "h264" and "4:4:4" in profile)


def _stated_rate(path: Path, video: VideoStream) -> tuple[Fraction, str]:
    """Rate in the codec's own headers, for files whose pictures can only be counted."""
    framerate = video.codec_context.framerate
    if not framerate:
        raise InputError(
            f"capture must have time stamps or state its rate, got neither in {path}; "
            "pass --refresh-hz"
        )
    rate = snap_rate(Fraction(framerate))
    return rate, f"stated in the {video.codec_context.name} stream, which has no time stamps"


def _stated_duration(
    container: InputContainer, video: VideoStream, time_base: Fraction
) -> Fraction | None:
    """Length of the video stream by the header, else that of the file without audio."""
    if video.duration:
        return video.duration * time_base
    match = re.fullmatch(r"(\d+):(\d\d):(\d\d(?:\.\d+)?)", video.metadata.get("DURATION", ""))
    if match:
        return int(match[1]) * 3600 + int(match[2]) * 60 + Fraction(match[3])
    if container.duration and not container.streams.audio:
        return Fraction(container.duration, av.time_base)
    return None


def _start_timecode(
    container: InputContainer, video: VideoStream, refresh_hz: Fraction
) -> str | None:
    """Timecode tag of the stream, the file, or a timecode track beside it.

    One that the count at this refresh rate never uses is taken for none.
    """
    for metadata in (video.metadata, container.metadata, *(s.metadata for s in container.streams)):
        for key, label in metadata.items():
            if key.lower() == "timecode":
                try:
                    Timecode.starting_at(label, refresh_hz)
                except UsageError:
                    continue
                return label
    return None
