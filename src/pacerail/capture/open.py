"""A capture, opened for reading."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import Self

from av.container import InputContainer
from av.video.stream import VideoStream

from pacerail.capture.container import open_container, video_stream
from pacerail.capture.headers import read_info
from pacerail.capture.info import CaptureInfo
from pacerail.capture.quantiser import DECODER_OPTIONS
from pacerail.capture.sampling import sample_time_stamps
from pacerail.errors import InputError
from pacerail.threads import DECODER_THREADS

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
    sampled, _ = open_container(path)
    with sampled:
        sample = sample_time_stamps(sampled, video_stream(sampled, path))
    if not sample.packets:
        raise InputError(f"capture must hold pictures, got none in {path}; record it again")
    container, notes = open_container(path, hwaccel)
    try:
        video = video_stream(container, path)
        video.thread_type = "AUTO"
        video.thread_count = DECODER_THREADS
        video.codec_context.options = DECODER_OPTIONS
        if video.codec_context.field_order > _PROGRESSIVE and not allow_interlaced:
            raise interlaced_error(path)
        if hwaccel and not notes and not video.codec_context.is_hwaccel:
            notes = (f"hardware decoder {hwaccel} does not take this codec; decoded in software",)
        info = read_info(path, container, video, sample, refresh_hz)
    except BaseException:
        container.close()
        raise
    if not info.has_time_stamps:
        notes += ("the file has no usable time stamps; its pictures are taken as evenly spaced",)
    return Capture(info, container, video, notes, allow_interlaced=allow_interlaced)


def interlaced_error(path: Path) -> InputError:
    """The refusal of material whose pictures hold two moments each."""
    return InputError(
        f"capture must be progressive, got interlaced pictures in {path}; record progressive, "
        "or pass --interlaced to measure it as if it were"
    )
