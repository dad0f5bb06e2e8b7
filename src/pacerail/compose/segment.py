"""Reading a segment of a capture: its pictures, and the audio packets that go with them."""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, TypeGuard

import av

from pacerail.compose.audio import HAS_EDIT_LIST, preroll_s
from pacerail.errors import InputError

# Audio may lie this far from its pictures in the file; common practice of muxers
# interleaves within half a second, the rest is reserve.
INTERLEAVE_S = Fraction(2)
# Reading starts this much before the key picture's own place, so that audio packets which
# lie before it in the file are met too.
SEEK_LEAD_S = Fraction(1, 2)

LONGEST_CAPTURE = 1 << 48  # ticks; over eight hours even with one tick per nanosecond


@dataclass(frozen=True)
class Shot:
    """One decoded picture and the moments at which it is to be written."""

    frame: av.VideoFrame
    refresh: int
    pts: tuple[int, ...]
    """In ticks of the output's time base; empty when the output rate leaves it out."""


@dataclass(frozen=True)
class AudioPacket:
    """A packet of the n-th copied audio stream, its time stamps counted from the segment."""

    packet: av.Packet[av.AudioStream]
    stream: int


@dataclass(frozen=True)
class Segment:
    """Which part of a capture is read: refreshes [first, end), to the end if None."""

    refresh_of: Callable[[int], int]
    """Refresh of a presentation time stamp; never falls as the time stamp grows."""
    first_refresh: int = 0
    end_refresh: int | None = None

    @property
    def starts_whole(self) -> bool:
        """True when nothing is cut at the front, so time stamps stay as they are."""
        return self.first_refresh <= 0


def read_segment(
    container: av.container.InputContainer,
    video: av.VideoStream,
    audio: Sequence[av.AudioStream],
    segment: Segment,
    container_format: str,
) -> Generator[Shot | AudioPacket, None, None]:
    """Pictures in order of presentation and audio packets, as they come from the file.

    A segment that starts inside the capture is shifted so that its first picture is at
    0. Damaged packets are left out; the decoder conceals what it can.
    Raises InputError when no picture lies in the segment or one has no time stamp.
    """
    return _Reader(container, video, audio, segment, container_format).read()


def first_tick(refresh_of: Callable[[int], int], refresh: int, start: int) -> int | None:
    """Smallest time stamp from `start` on that belongs to that refresh or a later one.

    None when there is none, because the capture ends before.
    """
    span = 1
    while refresh_of(start + span) < refresh:
        span *= 2
        if span > LONGEST_CAPTURE:
            return None
    low, high = start - 1, start + span
    while high - low > 1:
        middle = (low + high) // 2
        if refresh_of(middle) < refresh:
            low = middle
        else:
            high = middle
    return high


class _Reader:
    def __init__(
        self,
        container: av.container.InputContainer,
        video: av.VideoStream,
        audio: Sequence[av.AudioStream],
        segment: Segment,
        container_format: str,
    ) -> None:
        self.container = container
        self.video = video
        self.audio = [stream.index for stream in audio]
        self.preroll_s = [preroll_s(stream.codec_context.name) for stream in audio]
        self.streams: list[av.stream.Stream] = [video, *audio]
        self.segment = segment
        self.has_edit_list = container_format in HAS_EDIT_LIST
        self.time_base = Fraction(video.time_base or 0)
        self.start_pts: int | None = 0 if segment.starts_whole else None
        """Time stamp of the first picture; None until it has been decoded."""
        self.waiting: list[av.Packet[av.AudioStream]] = []

    def read(self) -> Generator[Shot | AudioPacket, None, None]:
        segment = self.segment
        if not segment.starts_whole:
            self._seek(self._first_tick(segment.first_refresh))
        end_pts = None if segment.end_refresh is None else self._first_tick(segment.end_refresh)
        end_s = None if end_pts is None else end_pts * self.time_base
        pictures = 0
        pictures_end = False
        audio_open = set(self.audio)
        for packet in self.container.demux(self.streams):
            if _is_audio(packet):
                if end_s is None or _time_s(packet) < end_s:
                    yield from self._audio(packet)
                else:
                    audio_open.discard(packet.stream_index)
            elif not pictures_end:
                for frame, pts in self._decode(packet):
                    refresh = segment.refresh_of(pts)
                    if refresh < segment.first_refresh:
                        continue
                    if segment.end_refresh is not None and refresh >= segment.end_refresh:
                        pictures_end = True
                        break
                    if self.start_pts is None:
                        self.start_pts = pts
                        for waiting in self.waiting:
                            yield from self._audio(waiting)
                    pictures += 1
                    yield Shot(frame, refresh, (pts - self.start_pts,))
            elif end_s is not None and _time_s(packet) > end_s + INTERLEAVE_S:
                audio_open.clear()
            if pictures_end and not audio_open:
                break
        if not pictures:
            raise InputError(
                "segment must hold at least one picture, got none from refresh "
                f"{segment.first_refresh} on; choose another start"
            )

    def _first_tick(self, refresh: int) -> int | None:
        return first_tick(self.segment.refresh_of, refresh, self.video.start_time or 0)

    def _seek(self, pts: int | None) -> None:
        if pts is None:
            return  # beyond the end: reading from the start will find that out
        start = self.video.start_time or 0
        target = max(pts - int(SEEK_LEAD_S / self.time_base), start)
        self.container.seek(target, stream=self.video, backward=True)

    def _decode(self, packet: av.Packet[Any]) -> Generator[tuple[av.VideoFrame, int], None, None]:
        try:
            frames = packet.decode()
        except av.error.InvalidDataError:
            return
        for frame in frames:
            if frame.pts is None:
                raise InputError(
                    "pictures must carry time stamps, got one without; "
                    "put the stream into an MP4 or Matroska file first"
                )
            yield frame, frame.pts

    def _audio(self, packet: av.Packet[av.AudioStream]) -> Generator[AudioPacket, None, None]:
        if packet.dts is None:  # marks the end of the stream
            return
        if self.start_pts is None:
            self.waiting.append(packet)
            return
        index = self.audio.index(packet.stream_index)
        if not self.segment.starts_whole:
            start_s = self.start_pts * self.time_base
            if self.has_edit_list:
                end_s = _time_s(packet) + (packet.duration or 0) * packet.time_base
                is_needed = end_s > start_s - self.preroll_s[index]
            else:  # one that starts early would be heard early
                is_needed = _time_s(packet) >= start_s
            if not is_needed:
                return
            shift = round(start_s / packet.time_base)
            packet.pts = (packet.pts or 0) - shift
            packet.dts -= shift
        yield AudioPacket(packet, index)


def _is_audio(packet: av.Packet[Any]) -> TypeGuard[av.Packet[av.AudioStream]]:
    return isinstance(packet.stream, av.AudioStream)


def _time_s(packet: av.Packet[Any]) -> Fraction:
    """Presentation time of a packet; the far future for the mark of a stream's end."""
    ticks = packet.dts if packet.pts is None else packet.pts
    return Fraction(10**9) if ticks is None else ticks * Fraction(packet.time_base)
