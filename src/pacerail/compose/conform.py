"""Bringing decoded pictures to the one shape and pixel format that is blended and encoded."""

from __future__ import annotations

import av
from av.video.reformatter import Interpolation, VideoReformatter

from pacerail.compose.footage import Footage
from pacerail.compose.layout import component_views, layout_of

# Exact rounding, and chroma worked out at full width where RGB is involved.
_FLAGS = (
    Interpolation.BICUBIC
    | Interpolation.ACCURATE_RND
    | Interpolation.FULL_CHR_H_INT
    | Interpolation.FULL_CHR_H_INP
)


class Conformer:
    """Makes frames writable, and converts those that differ from the target.

    A picture that fits already keeps every sample; one whose size changes in mid-capture
    is scaled to that of the first. A target that is smaller by more than a row or a column
    is met by scaling.

    threads : that convert one picture; 0 for one on each core, where nothing else is at work.
    """

    def __init__(self, source: Footage, target: Footage, *, threads: int = 1) -> None:
        self._source = source
        self._target = target
        self._threads = threads
        self._reformatter = VideoReformatter()

    def conform(self, frame: av.VideoFrame) -> av.VideoFrame:
        """The frame, or a converted copy of it, whose samples may be written to."""
        source, target = self._source, self._target
        is_scaled = source.width - target.width > 1 or source.height - target.height > 1
        size = target if is_scaled else source
        if (frame.width, frame.height) != (size.width, size.height):
            frame = self._convert(frame, size.width, size.height)
        if frame.format.name != target.pixel_format:
            frame = self._convert(frame, frame.width, frame.height)
        if (frame.width, frame.height) != (target.width, target.height):
            frame = _cropped(frame, target)
        frame.make_writable()
        return frame

    def _convert(self, frame: av.VideoFrame, width: int, height: int) -> av.VideoFrame:
        return self._reformatter.reformat(
            frame,
            width=width,
            height=height,
            format=self._target.pixel_format,
            interpolation=_FLAGS,
            src_colorspace=scaler_matrix(self._source.matrix),
            dst_colorspace=scaler_matrix(self._target.matrix),
            src_color_range=self._source.colour_range,
            dst_color_range=self._target.colour_range,
            threads=self._threads,
        )


def _cropped(frame: av.VideoFrame, target: Footage) -> av.VideoFrame:
    """A copy of the top left part of a frame that is larger by a row or a column."""
    layout = layout_of(target.pixel_format)
    copy = av.VideoFrame(target.width, target.height, target.pixel_format)
    for part, whole in zip(
        component_views(copy, layout), component_views(frame, layout), strict=True
    ):
        part[...] = whole[: part.shape[0], : part.shape[1]]
    return copy


def scaler_matrix(matrix: int) -> int:
    """The scaler's number for a matrix; it knows BT.601 as 5 only."""
    return 5 if matrix == 6 else matrix
