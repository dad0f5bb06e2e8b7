"""Opening a capture: safely, with one clear error for everything that is not one."""

from __future__ import annotations

import os
import re
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import Self

import av
import numpy as np
from av.codec.hwaccel import HWAccel
from av.container import InputContainer
from av.video.stream import VideoStream

from pacerail.capture.info import CaptureInfo
from pacerail.capture.luma import luma_layout
from pacerail.capture.packets import video_packets
from pacerail.capture.refresh_rate import find_refresh_rate
from pacerail.errors import InputError
from pacerail.timebase import snap_rate
from pacerail.timecode import is_timecode

# Containers of recordings and raw video. Playlists, text and network formats stay out: a
# capture must never make the reader open other files.
FORMATS = (
    "mov,mp4,m4a,3gp,3g2,mj2,matroska,webm,avi,nut,mpegts,mpeg,mxf,flv,asf,ivf,yuv4mpegpipe,"
    "h264,hevc,av1,obu,m4v,mpegvideo"
)
OPTIONS = {"format_whitelist": FORMATS, "protocol_whitelist": "file"}

# Packets from which the refresh rate is found: 10 s at 60 Hz, enough to tell 59.94 from 60
# in milliseconds (1 ms in 10 s is a tenth of what lies between them).
SCAN_PACKETS = 600
# AVCodecContext.field_order (libavcodec/defs.h): 0 unknown, 1 progressive, more is interlaced.
_PROGRESSIVE = 1


class Capture:
    """An opened capture; a context manager that closes the file.

    `container` and `video` are the PyAV objects, at the start of the file and not yet read
    from. `notes` holds sentences on how it was opened.
    """

    def __init__(
        self,
        info: CaptureInfo,
        container: InputContainer,
        video: VideoStream,
        notes: tuple[str, ...],
        *,
        allow_interlaced: bool,
    ) -> None:
        self.info = info
        self.container = container
        self.video = video
        self.notes = notes
        self.allow_interlaced = allow_interlaced

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; pictures still held stay valid."""
        self.container.close()


def open_capture(
    path: Path,
    *,
    refresh_hz: Fraction | None = None,
    allow_interlaced: bool = False,
    hwaccel: str | None = None,
) -> Capture:
    """Open a capture and find its refresh rate.

    refresh_hz : rate that overrides the one found in the time stamps.
    allow_interlaced : go on with interlaced material as if it were progressive.
    hwaccel : name of a hardware decoder such as ``vaapi``; one that cannot be used is noted
        and the software decoder takes its place.
    Raises InputError for anything that is not a readable video file.
    """
    pts = _scan(path)
    container, notes = _open_container(path, hwaccel)
    try:
        video = _video_stream(container, path)
        video.thread_type = "AUTO"
        if video.codec_context.field_order > _PROGRESSIVE and not allow_interlaced:
            raise interlaced_error(path)
        if hwaccel and not notes and not video.codec_context.is_hwaccel:
            notes = (f"hardware decoder {hwaccel} does not take this codec; decoded in software",)
        info = _read_info(path, container, video, pts, refresh_hz)
    except BaseException:
        container.close()
        raise
    if not info.has_time_stamps:
        notes += ("the file has no usable time stamps; its pictures are taken as evenly spaced",)
    return Capture(info, container, video, notes, allow_interlaced=allow_interlaced)


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


def interlaced_error(path: Path) -> InputError:
    """The refusal of material whose pictures hold two moments each."""
    return InputError(
        f"capture must be progressive, got interlaced pictures in {path}; record progressive, "
        "or pass --interlaced to measure it as if it were"
    )


def _open_container(
    path: Path, hwaccel: str | None = None
) -> tuple[InputContainer, tuple[str, ...]]:
    """Opened container, with notes on a hardware decoder that could not be had."""
    check_file(path)
    name = f"file:{path}"
    notes: tuple[str, ...] = ()
    if hwaccel:
        try:
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


def _video_stream(container: InputContainer, path: Path) -> VideoStream:
    """The stream to measure: the default moving picture, not a cover image."""
    streams = [
        stream
        for stream in container.streams.video
        if not stream.disposition & av.stream.Disposition.attached_pic
    ]
    if not streams:
        raise InputError(f"capture must hold video, got none in {path}; name a file with pictures")
    # The one that the file marks as default, else the largest.
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


def _scan(path: Path) -> list[int | None]:
    """Time stamps of the first packets, in file order, without decoding."""
    container, _ = _open_container(path)
    pts: list[int | None] = []
    with container:
        # Reading the pictures meets every break again, and tells of it then.
        for packet in video_packets(container, _video_stream(container, path), lambda: None):
            if packet.size:
                pts.append(packet.pts)
            if len(pts) >= SCAN_PACKETS:
                break
    if not pts:
        raise InputError(f"capture must hold pictures, got none in {path}; record it again")
    return pts


def _read_info(
    path: Path,
    container: InputContainer,
    video: VideoStream,
    scanned_pts: list[int | None],
    refresh_hz: Fraction | None,
) -> CaptureInfo:
    codec = video.codec_context
    pixel_format = codec.pix_fmt or "unknown"
    luma_layout(pixel_format)
    time_base = Fraction(video.time_base or Fraction(1, 90000))
    names = container.format.name.split(",")
    # AVI stores no presentation order; libavformat makes time stamps up from the file order.
    has_time_stamps = None not in scanned_pts and not ("avi" in names and codec.has_b_frames)
    if refresh_hz:
        rate, reason = refresh_hz, "given by the user"
    elif has_time_stamps:
        pts = np.array(scanned_pts, np.int64)
        stated = video.average_rate or video.guessed_rate
        rate, reason = find_refresh_rate(pts, time_base, Fraction(stated) if stated else None)
    else:
        rate, reason = _stated_rate(path, video)
    return CaptureInfo(
        path=path,
        size_bytes=path.stat().st_size,
        container_format=names[0],
        codec=codec.name,
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
        start_timecode=_start_timecode(container, video),
    )


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


def _start_timecode(container: InputContainer, video: VideoStream) -> str | None:
    """Timecode tag of the stream, the file, or a timecode track beside it."""
    for metadata in (video.metadata, container.metadata, *(s.metadata for s in container.streams)):
        for key, value in metadata.items():
            if key.lower() == "timecode" and is_timecode(value):
                return value
    return None
