"""One of two platforms: its pictures, scaled for the canvas and counted by its clock."""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass, replace

import av
import numpy as np
from av.video.reformatter import Interpolation, VideoReformatter

from pacerail.compose.blend import Blender
from pacerail.compose.colour import LUMA_WEIGHTS, NARROW_RANGE, assumed_matrix
from pacerail.compose.conform import scaler_matrix
from pacerail.compose.footage import Footage
from pacerail.compose.layout import component_views, is_rgb, layout_of
from pacerail.compose.planes import PlaneCache
from pacerail.compose.rate import RateChange
from pacerail.compose.reader import read_segment
from pacerail.compose.segment import Segment, Shot
from pacerail.patch import Image, whole

# Bicubic widens its reach when it makes pictures smaller, so nothing aliases; lanczos
# takes half as long again and rings at hard edges, of which captures are full.
_FLAGS = (
    Interpolation.BICUBIC
    | Interpolation.ACCURATE_RND
    | Interpolation.FULL_CHR_H_INT
    | Interpolation.FULL_CHR_H_INP
)

DIMMED = 0.6
"""Opacity of the black over a picture that is held because its capture has ended."""


@dataclass(frozen=True, eq=False)
class Side:
    """A capture, opened for reading at its start, and the part of it that is shown."""

    container: av.container.InputContainer
    video: av.VideoStream
    footage: Footage
    """Of its first picture."""
    refresh_of: Callable[[int], int]
    """Refresh of a presentation time stamp; never falls as the time stamp grows."""
    first_refresh: int
    """Shown by the first picture of the clip."""
    end_refresh: int
    """The capture ends here."""
    rate_change: RateChange
    """From its refreshes to the clip's pictures."""
    dims: bool = True
    """Whether the picture that is held at the end is darkened."""


@dataclass(frozen=True, eq=False)
class Ready:
    """A picture as the canvas takes it, which must not be written to."""

    frame: av.VideoFrame
    end_picture: int | None
    """First picture of the clip that does not show it; None where the capture has ended."""


class Scaler:
    """Brings decoded pictures to a size, pixel format, matrix and range.

    source, target : in the orientation of the stored picture, with matrix and range told.
    A picture that is so already is handed on as it is, sample for sample.
    """

    def __init__(self, source: Footage, target: Footage) -> None:
        self._source = source
        self.target = target
        self._reformatter = VideoReformatter()
        self._has_signal = (
            source.pixel_format == target.pixel_format
            and scaler_matrix(source.matrix) == scaler_matrix(target.matrix)
            and source.colour_range == target.colour_range
        )

    def scale(self, frame: av.VideoFrame) -> av.VideoFrame:
        """The frame itself, or a converted copy; larger by a row or column if its size is odd."""
        source, target = self._source, self.target
        width, height = target.width, target.height
        if (frame.width // 2 * 2, frame.height // 2 * 2) == (width, height):
            if self._has_signal and frame.format.name == source.pixel_format:
                return frame
            width, height = frame.width, frame.height
        return self._reformatter.reformat(
            frame,
            width=width,
            height=height,
            format=target.pixel_format,
            interpolation=_FLAGS,
            src_colorspace=scaler_matrix(source.matrix),
            dst_colorspace=scaler_matrix(target.matrix),
            src_color_range=source.colour_range,
            dst_color_range=target.colour_range,
            threads=1,
        )


def stated(footage: Footage) -> Footage:
    """The footage with the matrix and range that players assume where it tells none."""
    if is_rgb(footage.pixel_format):
        return footage
    matrix = footage.matrix
    if matrix not in LUMA_WEIGHTS:
        matrix = assumed_matrix(footage.height)
    return replace(footage, matrix=matrix, colour_range=footage.colour_range or NARROW_RANGE)


def dimmed(frame: av.VideoFrame, footage: Footage) -> av.VideoFrame:
    """A darkened copy of a picture of that footage."""
    width, height = frame.width // 2 * 2, frame.height // 2 * 2
    layout = layout_of(footage.pixel_format)
    copy = av.VideoFrame(frame.width, frame.height, footage.pixel_format)
    for part, original in zip(
        component_views(copy, layout), component_views(frame, layout), strict=True
    ):
        part[...] = original
    black = np.zeros((height, width, 4), np.uint8)
    black[..., 3] = round(255 * DIMMED)
    Blender(PlaneCache(layout, footage.signal(layout))).blend(copy, [whole(Image(black), 0, 0)])
    return copy


def ready_pictures(side: Side, scaler: Scaler) -> Generator[Ready, None, None]:
    """Pictures of a side in order, each once, and at the end the last one, dimmed if wanted.

    A picture stands until the one that follows it has started, so that a picture of the
    clip shows the latest refresh that had started by its time. Refreshes that the recording
    lost are filled with the picture before them, or at the start with the one after.
    Raises InputError when the capture holds no picture from the first refresh on.
    """
    segment = Segment(side.refresh_of, side.first_refresh, from_zero=True)
    reading = read_segment(side.container, side.video, [], segment, has_edit_list=False)
    before = side.rate_change.pictures_before
    waiting: av.VideoFrame | None = None
    done = 0
    for shot in reading:
        assert isinstance(shot, Shot)
        if shot.refresh >= side.end_refresh:
            break
        end = before(shot.refresh - side.first_refresh)
        if waiting is not None and end > done:
            yield Ready(scaler.scale(waiting), end)
            done = end
        waiting = shot.frame
    assert waiting is not None
    last = scaler.scale(waiting)
    yield Ready(last, before(side.end_refresh - side.first_refresh))
    yield Ready(dimmed(last, scaler.target) if side.dims else last, None)
