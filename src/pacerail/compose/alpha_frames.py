"""The overlay alone: patches laid over nothing, as frames of colour and alpha.

Pixel formats with alpha carry straight (unpremultiplied) colour unless an editor is told
otherwise, so the premultiplied drawing is divided by its alpha, once per image.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass

import av
import numpy as np
from numpy.typing import NDArray

from pacerail.compose.colour import Signal, Transfer, code_matrix
from pacerail.compose.layout import Samples, plane_samples
from pacerail.compose.planes import Plane, left_sited_columns
from pacerail.patch import Image, Patch

# Y'CbCr clips with alpha are BT.709 narrow range, whose primaries sRGB shares.
BT709_WEIGHTS = (0.2126, 0.0722)
CACHED_IMAGES = 64  # more than a frame shows; each is as large as its image


@dataclass(frozen=True)
class AlphaLayout:
    """A pixel format with alpha: packed bytes in some order, or planar Y'CbCr + A."""

    pixel_format: str
    packed: str = ""
    """Order of the letters r, g, b, a in a packed format, empty for a planar one."""
    bit_depth: int = 8
    chroma_step: int = 1
    """Luma columns and rows per chroma sample."""

    @property
    def dtype(self) -> type[np.uint8] | type[np.uint16]:
        """Type of one stored sample."""
        return np.uint8 if self.bit_depth == 8 else np.uint16

    def steps(self, plane: int) -> int:
        """Picture rows and columns per sample of a plane."""
        return self.chroma_step if plane in (1, 2) else 1


def unpremultiply(rgba: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Straight colour, rounded; black where alpha is 0. Shape (rows, columns, 4)."""
    alpha = rgba[..., 3:].astype(np.uint16)
    colour = rgba[..., :3].astype(np.uint16)
    divided = (colour * 255 + alpha // 2) // np.maximum(alpha, 1)
    straight = np.empty_like(rgba)
    straight[..., :3] = np.minimum(divided, 255) * (alpha > 0)
    straight[..., 3] = rgba[..., 3]
    return straight


def composite(patches: Sequence[Patch], x: int, y: int, width: int, height: int) -> Samples:
    """Premultiplied RGBA, uint8, of a rectangle of the canvas with the patches painted."""
    canvas = np.zeros((height, width, 4), np.uint8)
    for patch in patches:
        left, top = max(x, patch.x), max(y, patch.y)
        right = min(x + width, patch.x + patch.width)
        bottom = min(y + height, patch.y + patch.height)
        if left >= right or top >= bottom:
            continue
        column, row = patch.source_x + left - patch.x, patch.source_y + top - patch.y
        source = patch.image.rgba[row : row + bottom - top, column : column + right - left]
        target = canvas[top - y : bottom - y, left - x : right - x]
        rest = 255 - source[..., 3:].astype(np.uint16)
        target[...] = source + ((target * rest + 127) // 255).astype(np.uint8)
    return canvas


class AlphaPainter:
    """Makes frames of the overlay alone; keeps images that it has converted.

    rectangle : x, y, width and height of the part of the canvas that frames show, even.
    premultiplied : leave colour multiplied by its alpha.
    """

    def __init__(
        self,
        layout: AlphaLayout,
        rectangle: tuple[int, int, int, int],
        *,
        premultiplied: bool = False,
    ) -> None:
        self.layout = layout
        self._rectangle = rectangle
        self._premultiplied = premultiplied
        self._kept: OrderedDict[Image, list[Samples]] = OrderedDict()

    def frame(self, patches: Sequence[Patch]) -> av.VideoFrame:
        """A new frame with the patches painted in order over full transparency.

        Every patch must lie inside the rectangle.
        """
        frame_x, frame_y, frame_width, frame_height = self._rectangle
        frame = av.VideoFrame(frame_width, frame_height, self.layout.pixel_format)
        views = plane_views(frame, self.layout)
        for view, value in zip(views, transparent(self.layout), strict=True):
            view[...] = value
        for count, patch in enumerate(patches):
            x, y, width, height = patch.x, patch.y, patch.width, patch.height
            if any(_overlap(patch, earlier) for earlier in patches[:count]):
                planes = self._convert(composite(patches[: count + 1], x, y, width, height))
                source_x, source_y = 0, 0
            else:
                planes = self._planes(patch.image)
                source_x, source_y = patch.source_x, patch.source_y
            x, y = x - frame_x, y - frame_y
            for index, (view, plane) in enumerate(zip(views, planes, strict=True)):
                step = self.layout.steps(index)
                target = view[y // step : (y + height) // step, x // step : (x + width) // step]
                rows, columns = target.shape[:2]
                row, column = source_y // step, source_x // step
                target[...] = plane[row : row + rows, column : column + columns]
        return frame

    def _convert(self, rgba: NDArray[np.uint8]) -> list[Samples]:
        return convert(rgba, self.layout, premultiplied=self._premultiplied)

    def _planes(self, image: Image) -> list[Samples]:
        if image in self._kept:
            self._kept.move_to_end(image)
            return self._kept[image]
        planes = self._convert(image.rgba)
        self._kept[image] = planes
        if len(self._kept) > CACHED_IMAGES:
            self._kept.popitem(last=False)
        return planes


def convert(
    rgba: NDArray[np.uint8], layout: AlphaLayout, *, premultiplied: bool = False
) -> list[Samples]:
    """Planes of a premultiplied image in a layout: one packed plane, or Y', Cb, Cr, A."""
    if layout.packed:
        order = ["rgba".index(letter) for letter in layout.packed]
        packed = rgba if premultiplied else unpremultiply(rgba)
        return [np.ascontiguousarray(packed[..., order])]
    planes = np.ascontiguousarray(rgba.transpose(2, 0, 1)).astype(np.float32) / np.float32(255)
    cells = planes
    if layout.chroma_step == 2:
        cells = left_sited_columns(cells)
        cells = (cells[:, 0::2] + cells[:, 1::2]) * np.float32(0.5)
    matrix = code_matrix(_signal(layout)).astype(np.float32)
    converted: list[Samples] = []
    for component, source in enumerate((planes, cells, cells)):
        red, green, blue, offset = matrix[:, component]
        colour: Plane = red * source[0] + green * source[1] + blue * source[2]
        if not premultiplied:
            # Filtered colour over filtered alpha weighs each pixel by its alpha, so that
            # transparent neighbours cannot darken an edge.
            colour = colour / np.maximum(source[3], np.float32(1 / 1024))
        converted.append((colour + offset + np.float32(0.5)).astype(layout.dtype))
    top = np.float32((1 << layout.bit_depth) - 1)
    converted.append((planes[3] * top + np.float32(0.5)).astype(layout.dtype))
    return converted


def transparent(layout: AlphaLayout) -> list[int]:
    """Code values of each plane where nothing is drawn: black, alpha 0."""
    if layout.packed:
        return [0]
    luma, chroma_blue, chroma_red = code_matrix(_signal(layout))[3]
    return [int(luma), int(chroma_blue), int(chroma_red), 0]


def plane_views(frame: av.VideoFrame, layout: AlphaLayout) -> list[Samples]:
    """Writable views of a frame's planes; a packed one has shape (rows, columns, 4)."""
    if layout.packed:
        plane = frame.planes[0]
        return [plane_samples(plane, np.uint8, plane.width * 4).reshape(plane.height, -1, 4)]
    return [plane_samples(plane, layout.dtype, plane.width) for plane in frame.planes]


def _signal(layout: AlphaLayout) -> Signal:
    return Signal(BT709_WEIGHTS, False, layout.bit_depth, Transfer.SDR, 1)


def _overlap(one: Patch, other: Patch) -> bool:
    return (
        one.x < other.x + other.width
        and other.x < one.x + one.width
        and one.y < other.y + other.height
        and other.y < one.y + one.height
    )
