"""Opening the file: safely, with one clear error for everything that is no video."""

from __future__ import annotations

import os
from pathlib import Path

import av
from av.codec.hwaccel import HWAccel
from av.container import InputContainer
from av.video.stream import VideoStream

from pacerail.errors import InputError

# Containers of recordings and raw video. Playlists, text and network formats stay out: a
# capture must never make the reader open other files.
FORMATS = (
    "mov,mp4,m4a,3gp,3g2,mj2,matroska,webm,avi,nut,mpegts,mpeg,mxf,flv,asf,ivf,yuv4mpegpipe,"
    "h264,hevc,av1,obu,m4v,mpegvideo"
)
OPTIONS = {"format_whitelist": FORMATS, "protocol_whitelist": "file"}


def check_file(path: Path) -> None:
    """Raise InputError unless there is a file with something in it that can be read."""
    if path.is_dir():
        raise InputError(f"capture must be a file, got the folder {path}; name a video in it")
    if not path.exists():
        raise InputError(f"capture must exist, got {path}; check the name and the folder")
    if not os.access(path, os.R_OK):
        raise InputError(f"capture must be readable, got {path}; change its permissions")
    if path.is_file() and path.stat().st_size == 0:
        raise InputError(f"capture must hold a video, got the empty file {path}; record it again")


def open_container(
    path: Path, hwaccel: str | None = None
) -> tuple[InputContainer, tuple[str, ...]]:
    """Opened container, with notes on a hardware decoder that could not be had."""
    check_file(path)
    name = f"file:{path}"
    notes: tuple[str, ...] = ()
    if hwaccel:
        try:
            # The library says NotImplementedError where this decoder is not built in.
            return av.open(name, options=OPTIONS, hwaccel=HWAccel(hwaccel)), notes
        except (av.FFmpegError, ValueError, OSError, NotImplementedError) as error:
            notes = (f"hardware decoder {hwaccel} cannot be used ({error}); decoded in software",)
    try:
        return av.open(name, options=OPTIONS), notes
    except (av.FFmpegError, ValueError, OSError) as error:
        reason = getattr(error, "strerror", None) or error
        raise InputError(
            f"capture must be a whole video file, got {path}: {reason}; "
            "convert or repair it, a recording cut off before its end may lack its index"
        ) from error


def video_stream(container: InputContainer, path: Path) -> VideoStream:
    """The stream to measure: a moving picture, not a cover image.

    Of several it is the one that the file marks as default, else the largest.
    """
    streams = [
        stream
        for stream in container.streams.video
        if not stream.disposition & av.stream.Disposition.attached_pic
    ]
    if not streams:
        raise InputError(f"capture must hold video, got none in {path}; name a file with pictures")
    video = max(streams, key=_preference)
    if video.codec_context is None or not video.codec_context.width:
        raise InputError(
            f"capture must hold video that can be decoded, got an unknown codec in {path}; "
            "convert it first"
        )
    return video


def _preference(stream: VideoStream) -> tuple[bool, int]:
    is_default = bool(stream.disposition & av.stream.Disposition.default)
    context = stream.codec_context
    return is_default, context.width * context.height if context else 0
