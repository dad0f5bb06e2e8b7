"""Reading a segment: its pictures in order, and the audio packets that go with them."""

from __future__ import annotations

from collections.abc import Generator, Iterator, Sequence
from fractions import Fraction
from typing import Any, TypeGuard

import av

from pacerail.compose.audio import AudioCut
from pacerail.compose.packets import readable_packets
from pacerail.compose.segment import Item, Segment, Shot, first_tick
from pacerail.errors import InputError
from pacerail.seeking import places_before, seek

# Reading starts this much before the key picture's own place, so that audio packets which
# lie before it in the file are met too. Muxers interleave within half a second (common
# practice, no published source).
SEEK_LEAD_S = Fraction(1, 2)


def read_segment(
    container: av.container.InputContainer,
    video: av.VideoStream,
    audio: Sequence[av.AudioStream],
    segment: Segment,
    *,
    has_edit_list: bool,
) -> Generator[Item, None, None]:
    """Pictures in order of presentation and audio packets, as they come from the file.

    has_edit_list : whether the output can start playing inside an audio packet.
    Damaged packets are left out; the decoder conceals what it can. So is a picture whose
    time stamp does not come after the one before, as it is on screen for no time.
    Raises InputError when no picture lies in the segment or one has no time stamp.
    """
    for place in _places(video, segment, SEEK_LEAD_S if audio else Fraction(0)):
        if segment.first_refresh > 0:
            seek(container, video, place)
        is_read = yield from _read_on(
            container,
            video,
            AudioCut(
                audio,
                segment.end_s(video),
                from_zero=segment.from_zero,
                has_edit_list=has_edit_list,
            ),
            segment,
            may_begin_late=place <= (video.start_time or 0),
        )
        if is_read:
            return
    raise InputError(
        "segment must hold at least one picture, got none from refresh "
        f"{segment.first_refresh} on; choose another start"
    )


def _read_on(
    container: av.container.InputContainer,
    video: av.VideoStream,
    sound: AudioCut,
    segment: Segment,
    *,
    may_begin_late: bool,
) -> Generator[Item, None, bool]:
    """The segment from where the container stands.

    may_begin_late : whether its first pictures may be missing, as the recording lost them;
    else nothing is read where decoding began too late to have met them.
    Returns whether there was anything to read.
    """
    time_base = Fraction(video.time_base or 0)
    zero_pts = None if segment.from_zero else 0
    last_pts: int | None = None
    is_past_end = False
    for packet in readable_packets(container, [video, *sound.streams]):
        if _is_audio(packet):
            yield from sound.take(packet)
            continue
        for frame, pts in _decode(packet):
            refresh = segment.refresh_of(pts)
            if refresh < segment.first_refresh or is_past_end:
                may_begin_late = True
                continue
            if refresh > segment.first_refresh and last_pts is None and not may_begin_late:
                return False
            if segment.end_refresh is not None and refresh >= segment.end_refresh:
                is_past_end = True
                continue
            if zero_pts is None:
                zero_pts = pts
                yield from sound.start(pts * time_base)
            if last_pts is not None and pts <= last_pts:
                continue
            last_pts = pts
            yield Shot(frame, refresh, (pts - zero_pts,), frame.duration)
        if is_past_end and sound.is_over(packet):
            break
    return last_pts is not None


def _places(video: av.VideoStream, segment: Segment, lead_s: Fraction) -> Iterator[int]:
    """Where to begin reading: safely before the segment, then ever earlier."""
    start = video.start_time or 0
    pts = first_tick(segment.refresh_of, segment.first_refresh, start)
    lead = int(lead_s / Fraction(video.time_base or 1))
    return places_before(video, start if pts is None else pts - lead)


def _decode(packet: av.Packet[Any]) -> Generator[tuple[av.VideoFrame, int], None, None]:
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


def _is_audio(packet: av.Packet[Any]) -> TypeGuard[av.Packet[av.AudioStream]]:
    return isinstance(packet.stream, av.AudioStream)
