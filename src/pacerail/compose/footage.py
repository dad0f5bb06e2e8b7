"""What the first decoded picture of a capture tells about all of them."""

from __future__ import annotations

import struct
from dataclasses import dataclass, replace
from typing import Any

import av
from av.sidedata.sidedata import Type

from pacerail.compose.colour import FULL_RANGE, NARROW_RANGE, Signal, signal_from_tags
from pacerail.compose.layout import PixelLayout, is_rgb
from pacerail.compose.rectangle import square_canvas
from pacerail.seeking import rewind
from pacerail.size import half

# H.273 code points: of matrix, primaries and transfer alike; of the matrix of RGB.
BT709 = 1
RGB = 0


@dataclass(frozen=True)
class HdrMetadata:
    """Static HDR metadata (SMPTE ST 2086 and CTA-861.3), in the units of the bit streams.

    Chromaticities in 1/50000, mastering luminance in 1/10000 cd/m2, light levels in cd/m2.
    """

    mastering: tuple[int, ...] | None
    """Red x, y, green x, y, blue x, y, white x, y, least and greatest luminance."""
    light_level: tuple[int, int] | None
    """Greatest content light level and greatest picture average."""


@dataclass(frozen=True)
class Footage:
    """Shape and colour of decoded pictures; numbers of colour are H.273 code points."""

    width: int
    height: int
    pixel_format: str
    matrix: int
    colour_range: int
    """1 narrow, 2 full, 0 not told."""
    primaries: int
    transfer: int
    display_matrix: tuple[int, ...] | None = None
    """Nine fixed-point numbers by which a player turns the picture; None to show it as is."""
    quarter_turns: int = 0
    """Quarter turns clockwise that a player gives the picture, 0 to 3."""
    hdr: HdrMetadata = HdrMetadata(None, None)

    @property
    def canvas(self) -> tuple[int, int]:
        """Even width and height, in stored pixels, of what is seen: after any turn."""
        width, height = self.width // 2 * 2, self.height // 2 * 2
        return (height, width) if self.quarter_turns % 2 else (width, height)

    def encoded_as(self, pixel_format: str, *, even: bool = False) -> Footage:
        """The same footage in another pixel format, with the tags it then carries.

        even : without the last row or column where their number is odd.
        """
        changed = replace(self, pixel_format=pixel_format)
        if even:
            width, height = self.width // 2 * 2, self.height // 2 * 2
            changed = replace(changed, width=width, height=height)
        if is_rgb(self.pixel_format) and not is_rgb(pixel_format):
            return replace(changed, matrix=BT709, colour_range=NARROW_RANGE)
        if is_rgb(pixel_format) and not is_rgb(self.pixel_format):
            return replace(changed, matrix=RGB, colour_range=FULL_RANGE)
        return changed

    def halved(self) -> Footage:
        """The same at half of each side, which stays even: a quarter of the pixels."""
        return replace(self, width=half(self.width), height=half(self.height))

    def signal(self, layout: PixelLayout) -> Signal:
        """The meaning of the code values in a layout."""
        return signal_from_tags(
            matrix=self.matrix,
            colour_range=self.colour_range,
            transfer=self.transfer,
            primaries=self.primaries,
            is_rgb=layout.is_rgb,
            bit_depth=layout.bit_depth,
            height=self.height,
        )


def footage_of(frame: av.VideoFrame) -> Footage:
    """Facts of one decoded picture, which stand for the whole capture."""
    pixel_format = frame.format.name
    matrix = _side_data(frame, Type.DISPLAYMATRIX)
    return Footage(
        width=frame.width,
        height=frame.height,
        pixel_format=pixel_format,
        matrix=int(frame.colorspace),
        colour_range=FULL_RANGE if pixel_format.startswith("yuvj") else int(frame.color_range),
        primaries=int(frame.color_primaries),
        transfer=int(frame.color_trc),
        display_matrix=struct.unpack("<9i", matrix[:36]) if matrix else None,
        quarter_turns=round(-frame.rotation / 90) % 4,
        hdr=HdrMetadata(_mastering(frame), _light_level(frame)),
    )


def seen_canvas(footage: Footage, video: av.VideoStream) -> tuple[int, int]:
    """Even width and height of what is seen in square pixels, on which graphics are drawn."""
    aspect = video.sample_aspect_ratio
    if aspect and footage.quarter_turns % 2:
        aspect = 1 / aspect
    return square_canvas(footage.canvas, aspect)


def opening_footage(container: av.container.InputContainer, video: av.VideoStream) -> Footage:
    """Facts of the first picture of a capture, which is wound back afterwards.

    For laying out an overlay: its canvas is that of `seen_canvas`.
    """
    frame = next(container.decode(video))
    rewind(container, video)
    return footage_of(frame)


def _mastering(frame: av.VideoFrame) -> tuple[int, ...] | None:
    """Mastering display as the codec library keeps it: ten fractions and two flags."""
    data = _side_data(frame, Type.MASTERING_DISPLAY_METADATA)
    if not data:
        return None
    *terms, has_primaries, has_luminance = struct.unpack("<22i", data[:88])
    if not (has_primaries and has_luminance):
        return None
    fractions = list(zip(terms[0::2], terms[1::2], strict=True))
    scales = [50000] * 8 + [10000] * 2
    return tuple(
        round(scale * over / under) for scale, (over, under) in zip(scales, fractions, strict=True)
    )


def _light_level(frame: av.VideoFrame) -> tuple[int, int] | None:
    data = _side_data(frame, Type.CONTENT_LIGHT_LEVEL)
    if not data:
        return None
    content, average = struct.unpack("<2I", data[:8])
    return content, average


def _side_data(frame: av.VideoFrame, kind: Type) -> bytes:
    items: Any = frame.side_data  # yields buffers, though its type says keys
    return next((bytes(item) for item in items if item.type == kind), b"")
