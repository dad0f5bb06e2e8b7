"""One exact picture of a capture, however deep it lies in a long group of pictures."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import av

from pacerail.compose.segment import first_tick
from pacerail.errors import InputError

# Pictures that no other refers to are left out up to this long before the moment. A
# recording that lost more than that is read once more in full. (Our choice.)
EXACT_LEAD_S = Fraction(1, 4)


def frame_on_screen(
    container: av.container.InputContainer,
    video: av.VideoStream,
    refresh_of: Callable[[int], int],
    refresh: int,
) -> av.VideoFrame:
    """The last picture that starts at or before a refresh, or else the first one there is.

    refresh_of : refresh of a presentation time stamp; never falls as the time stamp grows.
    Raises InputError when the capture has no picture that can be decoded.
    """
    start = video.start_time or 0
    target = first_tick(refresh_of, refresh, start)
    if target is None:
        target = start
    lead = int(EXACT_LEAD_S / Fraction(video.time_base or 1))
    for seek_tick, exact_from in ((target, target - lead), (target, start), (start, start)):
        container.seek(max(seek_tick, start), stream=video, backward=True)
        frame = _last_until(container, video, refresh_of, refresh, exact_from)
        if frame is not None and (frame.pts or 0) >= min(exact_from, target):
            return frame
        if frame is not None and exact_from == start and refresh_of(frame.pts or 0) <= refresh:
            return frame
    container.seek(start, stream=video, backward=True)
    frame = next(container.decode(video), None)
    if frame is None:
        raise InputError("capture must hold pictures that can be decoded, got none; repair it")
    return frame


def _last_until(
    container: av.container.InputContainer,
    video: av.VideoStream,
    refresh_of: Callable[[int], int],
    refresh: int,
    exact_from: int,
) -> av.VideoFrame | None:
    """The last picture up to a refresh; before a tick only those that others refer to."""
    shown: av.VideoFrame | None = None
    for packet in container.demux(video):
        is_before = packet.pts is not None and packet.pts < exact_from
        video.codec_context.skip_frame = "NONREF" if is_before else "DEFAULT"
        try:
            frames = packet.decode()
        except av.error.InvalidDataError:
            continue
        for frame in frames:
            if frame.pts is None:
                continue
            found = refresh_of(frame.pts)
            if found > refresh:
                return shown
            shown = frame
            if found == refresh:
                return shown
    return shown
