"""Bringing decoded pictures to the one shape and pixel format that is blended and encoded."""

from __future__ import annotations

import av
from av.video.reformatter import Interpolation, VideoReformatter

from pacerail.compose.footage import Footage

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
    is scaled to that of the first.
    """

    def __init__(self, source: Footage, target: Footage) -> None:
        self._source = source
        self._target = target
        self._reformatter = VideoReformatter()

    def conform(self, frame: av.VideoFrame) -> av.VideoFrame:
        """The frame, or a converted copy of it, whose samples may be written to."""
        target = self._target
        fits = (
            frame.format.name == target.pixel_format
            and frame.width == target.width
            and frame.height == target.height
        )
        if not fits:
            frame = self._reformatter.reformat(
                frame,
                width=target.width,
                height=target.height,
                format=target.pixel_format,
                interpolation=_FLAGS,
                src_colorspace=_scaler_matrix(self._source.matrix),
                dst_colorspace=_scaler_matrix(target.matrix),
                src_color_range=self._source.colour_range,
                dst_color_range=target.colour_range,
                threads=1,
            )
        frame.make_writable()
        return frame


def _scaler_matrix(matrix: int) -> int:
    """The scaler's number for a matrix; it knows BT.601 as 5 only."""
    return 5 if matrix == 6 else matrix
