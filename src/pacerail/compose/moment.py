"""One exact picture of a capture, however deep it lies in a long group of pictures."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

import av

from pacerail.compose.packets import readable_packets
from pacerail.compose.segment import first_tick
from pacerail.errors import InputError
from pacerail.seeking import places_before, rewind, seek
from pacerail.threads import DECODER_THREADS

Discard = Literal["NONREF", "DEFAULT"]


def frame_on_screen(
    container: av.container.InputContainer,
    video: av.VideoStream,
    refresh_of: Callable[[int], int],
    refresh: int,
) -> av.VideoFrame:
    """The last picture that starts at or before a refresh, or else the first one there is.

    refresh_of : refresh of a presentation time stamp; never falls as the time stamp grows.
    Which picture that is, the packets tell. Then only it and those that it builds on are
    decoded, so that every sample is as in decoding all; where it cannot be decoded, the last
    one before it that can.
    Raises InputError when the capture has no picture that can be decoded.
    """
    _open_decoder(video.codec_context)
    start = video.start_time or 0
    moment = first_tick(refresh_of, refresh, start)
    for place in places_before(video, start if moment is None else moment):
        seek(container, video, place)
        wanted = _time_stamp_on_screen(container, video, refresh_of, refresh)
        if wanted is None:
            continue
        others: Discard
        for others in ("NONREF", "DEFAULT"):
            seek(container, video, place)
            frame = _decoded_until(container, video, wanted, others)
            if frame is not None:
                return frame
    rewind(container, video)
    frame = next(container.decode(video), None)
    if frame is None:
        raise InputError("capture must hold pictures that can be decoded, got none; repair it")
    return frame


def _open_decoder(context: av.VideoCodecContext) -> None:
    """Open a decoder before it is told what to discard: some heed that only when opened."""
    if not context.is_open:
        context.thread_count = DECODER_THREADS
        context.open()


def _time_stamp_on_screen(
    container: av.container.InputContainer,
    video: av.VideoStream,
    refresh_of: Callable[[int], int],
    refresh: int,
) -> int | None:
    """That of the picture, told by the packets from here on; None before any key picture.

    Of pictures that share a refresh it is the first.
    """
    ticks: list[int] = []
    for packet in readable_packets(container, [video]):
        if packet.dts is not None and refresh_of(packet.dts) > refresh:
            break
        if packet.pts is None or not (ticks or packet.is_keyframe):
            continue
        if refresh_of(packet.pts) <= refresh:
            ticks.append(packet.pts)
    return max(ticks, key=lambda tick: (refresh_of(tick), -tick), default=None)


def _decoded_until(
    container: av.container.InputContainer, video: av.VideoStream, wanted: int, others: Discard
) -> av.VideoFrame | None:
    """The picture of a time stamp; of full decoding, else the last one before it.

    others : what is decoded of the other pictures; all, or only what pictures refer to.
    """
    context = video.codec_context
    shown: av.VideoFrame | None = None
    for packet in readable_packets(container, [video]):
        is_wanted = packet.pts == wanted
        context.skip_frame = "DEFAULT" if is_wanted else others
        try:
            frames = packet.decode()
            if is_wanted:
                # It waits in the decoder to be put in order; nothing after it is needed.
                frames += context.decode(None)
        except av.error.InvalidDataError:
            frames = []
        for frame in frames:
            if frame.pts is not None and frame.pts <= wanted:
                shown = frame
        if is_wanted:
            break
    is_shown = shown is not None and (others == "DEFAULT" or shown.pts == wanted)
    return shown if is_shown else None
