"""Reading a segment: its pictures in order, and the audio packets that go with them."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from fractions import Fraction
from typing import Any, TypeGuard

import av

from pacerail.compose.audio import AudioCut
from pacerail.compose.packets import readable_packets
from pacerail.compose.segment import Item, Segment, Shot, first_tick
from pacerail.errors import InputError

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
    time_base = Fraction(video.time_base or 0)
    end_s = segment.end_s(video)
    sound = AudioCut(audio, end_s, from_zero=segment.from_zero, has_edit_list=has_edit_list)
    lead_s = SEEK_LEAD_S if audio else Fraction(0)
    is_sought = segment.first_refresh > 0 and _seek(container, video, segment, lead_s)
    zero_pts = None if segment.from_zero else 0
    last_pts: int | None = None
    is_past_end = False
    for packet in readable_packets(container, [video, *audio]):
        if _is_audio(packet):
            yield from sound.take(packet)
        else:
            for frame, pts in _decode(packet):
                refresh = segment.refresh_of(pts)
                if refresh < segment.first_refresh or is_past_end:
                    continue
                if segment.end_refresh is not None and refresh >= segment.end_refresh:
                    is_past_end = True
                    continue
                if is_sought and last_pts is None and refresh > segment.first_refresh:
                    # The index led past the start, or the recording lost that refresh.
                    container.seek(video.start_time or 0, stream=video, backward=True)
                    is_sought = False
                    sound.forget()
                    break
                if zero_pts is None:
                    zero_pts = pts
                    yield from sound.start(pts * time_base)
                if last_pts is not None and pts <= last_pts:
                    continue
                last_pts = pts
                yield Shot(frame, refresh, (pts - zero_pts,), frame.duration)
        if is_past_end and sound.is_over(packet):
            break
    if last_pts is None:
        raise InputError(
            "segment must hold at least one picture, got none from refresh "
            f"{segment.first_refresh} on; choose another start"
        )


def _seek(
    container: av.container.InputContainer,
    video: av.VideoStream,
    segment: Segment,
    lead_s: Fraction,
) -> bool:
    """Go to a key picture safely before the segment; False when there is no such place."""
    start = video.start_time or 0
    pts = first_tick(segment.refresh_of, segment.first_refresh, start)
    if pts is None:
        return False
    lead = int(lead_s / Fraction(video.time_base or 1))
    container.seek(max(pts - lead, start), stream=video, backward=True)
    return True


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
