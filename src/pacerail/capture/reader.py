"""The pictures of a capture, one per refresh, in order and at constant memory."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import av

from pacerail.capture.grid import RefreshGrid, settle
from pacerail.capture.luma import luma_layout
from pacerail.capture.open import Capture, interlaced_error
from pacerail.capture.packets import video_packets
from pacerail.capture.quantiser import QuantiserGauge
from pacerail.capture.report import ReadingReport
from pacerail.picture import Picture

# av.video.frame.PictureType.
_PICTURE_TYPES = {1: "I", 2: "P", 3: "B"}
# The quantiser is asked for in one of this many pictures: it changes slowly.
_QUANTISER_EVERY = 12
# Shorter than this at the end is rounding of a header, not a missing part. (Our choice.)
_END_SLACK_REFRESHES = 2

# A decoded picture, its time stamp on a clock that runs on, and its nearest refresh.
_Placed = tuple[av.VideoFrame, int, int]


class PictureReader(Iterator[Picture]):
    """Iterates over the pictures of a capture once.

    `report` holds what reading met; it is complete when the iteration has ended.
    """

    def __init__(self, capture: Capture, *, gaps_are_held: bool) -> None:
        self.report = ReadingReport()
        self._capture = capture
        self._gaps_are_held = gaps_are_held
        self._gauge = QuantiserGauge()
        self._pictures = self._read()

    def __next__(self) -> Picture:
        return next(self._pictures)

    def _read(self) -> Iterator[Picture]:
        """Settle every picture on the grid once the next one is known."""
        last = -1
        before: Picture | None = None
        for (frame, pts, placed), following in _with_next(self._placed()):
            refresh = settle(last, placed, following[2] if following else None)
            if refresh is None:
                self.report.doubled += 1
                continue
            picture = self._picture(frame, pts, refresh)
            if before is not None and self._gaps_are_held:
                yield from self._repeats(before, picture)
            else:
                self.report.lost += refresh - last - 1
            yield picture
            last, before = refresh, picture
        self._look_at_end(last)

    def _placed(self) -> Iterator[_Placed]:
        """Decoded pictures with time stamp and nearest refresh."""
        info = self._capture.info
        grid = RefreshGrid(info.time_base, info.refresh_hz)
        ticks_per_refresh = 1 / (info.time_base * info.refresh_hz)
        for number, frame in enumerate(self._decoded()):
            if not info.has_time_stamps:
                yield frame, round(number * ticks_per_refresh), number
            elif frame.pts is None:
                self.report.undecodable += 1
            else:
                refresh = grid.place(frame.pts)
                yield frame, frame.pts + grid.shift_ticks, refresh
        self.report.clock_jumps = grid.clock_jumps

    def _decoded(self) -> Iterator[av.VideoFrame]:
        """Pictures as the decoder gives them; damage is counted and passed over."""
        for packet in video_packets(
            self._capture.container, self._capture.video, self._count_undecodable
        ):
            try:
                frames = packet.decode()
            except av.FFmpegError:
                self._count_undecodable()
            else:
                yield from frames

    def _count_undecodable(self) -> None:
        self.report.undecodable += 1

    def _picture(self, frame: av.VideoFrame, pts: int, refresh: int) -> Picture:
        report = self.report
        shape = (frame.width, frame.height, frame.format.name)
        if report.pictures == 0:
            self._shape = shape
            if frame.interlaced_frame and not self._capture.allow_interlaced:
                raise interlaced_error(self._capture.info.path)
        report.pictures += 1
        report.damaged += frame.is_corrupt
        report.interlaced += frame.interlaced_frame
        if shape != self._shape:
            report.shape_changes += 1
            self._shape = shape
        layout = luma_layout(frame.format.name)
        is_asked = report.pictures % _QUANTISER_EVERY == 1
        return Picture(
            refresh=refresh,
            pts=pts,
            luma=layout.view(frame),
            bit_depth=layout.bit_depth,
            picture_type=_PICTURE_TYPES.get(int(frame.pict_type), "?"),
            is_corrupt=frame.is_corrupt,
            quantiser_step=self._gauge.step(frame, layout.bit_depth) if is_asked else math.nan,
            owner=frame,
        )

    def _repeats(self, before: Picture, after: Picture) -> Iterator[Picture]:
        """The picture before, once for every refresh between the two."""
        refreshes = after.refresh - before.refresh
        for step in range(1, refreshes):
            self.report.filled += 1
            yield replace(
                before,
                refresh=before.refresh + step,
                pts=before.pts + (after.pts - before.pts) * step // refreshes,
                picture_type="?",
                quantiser_step=math.nan,
            )

    def _look_at_end(self, last: int) -> None:
        """Compare the last picture with the length that the header states."""
        info = self._capture.info
        if info.stated_duration_s is not None:
            missing = info.stated_duration_s - (last + 1) / info.refresh_hz
            if missing * info.refresh_hz > _END_SLACK_REFRESHES:
                self.report.missing_s = missing


def pictures(capture: Capture, *, gaps_are_held: bool = False) -> PictureReader:
    """Luma of every refresh that the capture holds, on its refresh grid.

    A lost refresh is a jump of `Picture.refresh`.
    gaps_are_held : a refresh without a picture repeats the one before, as recorders mean it
        that leave out pictures in which nothing changed.
    Raises InputError while iterating when the pictures turn out to be interlaced or of a
    format that cannot be read.
    """
    return PictureReader(capture, gaps_are_held=gaps_are_held)


def _with_next(items: Iterator[_Placed]) -> Iterator[tuple[_Placed, _Placed | None]]:
    """Every item together with the one after it, None after the last."""
    current = next(items, None)
    while current is not None:
        following = next(items, None)
        yield current, following
        current = following
