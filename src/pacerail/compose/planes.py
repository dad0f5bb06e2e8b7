"""Images of the drawing stage, turned into the footage's own samples and kept.

A frame shows mostly the same images as the one before, only shifted, so each is
converted once. A converted component is two planes: `term`, what the graphics add, and
`keep`, the share of the footage that stays.
"""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pacerail.compose.colour import Signal, code_matrix, graphics_in_signal
from pacerail.compose.layout import PixelLayout
from pacerail.patch import Image

Plane = NDArray[np.float32]

# Enough for two seams of past and ghosted strip at 2160p with all readouts; a guess
# that only decides how often something is converted again.
CACHE_BYTES = 192 << 20


@dataclass(frozen=True, eq=False)
class ComponentPlanes:
    """Both float32, of the component's own size. Rounding (+ 0.5) is already in `term`."""

    term: Plane
    keep: Plane
    """1 - alpha, divided by 2**shift of the layout, so that stored samples go in as they are."""


def convert(
    rgba: NDArray[np.uint8], layout: PixelLayout, signal: Signal
) -> tuple[ComponentPlanes, ...]:
    """Planes of the three components of a premultiplied sRGB image of even size.

    Chroma is averaged over the cell before the matrix, sited left as H.264 and HEVC have
    it by default (ITU-T H.264 annex E, chroma_sample_loc_type 0).
    """
    planes = graphics_in_signal(rgba, signal)
    cells = planes
    if not layout.is_rgb:
        if layout.chroma_columns == 2:
            cells = left_sited_columns(cells)
        if layout.chroma_rows == 2:
            cells = (cells[:, 0::2] + cells[:, 1::2]) * np.float32(0.5)
    matrix = code_matrix(signal)
    top = np.float32((1 << signal.bit_depth) - 1)
    keeps: dict[int, Plane] = {}
    converted = []
    for component in range(3):
        source = planes if component == 0 or layout.is_rgb else cells
        term = sum(np.float32(matrix[i, component]) * source[i] for i in range(4))
        # A saturated colour in full range reaches half a code past the top.
        term = np.minimum(term, source[3] * top) + np.float32(0.5)
        if id(source) not in keeps:
            keeps[id(source)] = (1 - source[3]) * np.float32(2.0**-layout.shift)
        converted.append(ComponentPlanes(term, keeps[id(source)]))
    return tuple(converted)


def left_sited_columns(planes: NDArray[np.float32]) -> NDArray[np.float32]:
    """Every second column, filtered (1 2 1) / 4 around it; the border repeats."""
    halved = planes[..., 0::2] * np.float32(0.5) + planes[..., 1::2] * np.float32(0.25)
    halved[..., 1:] += planes[..., 1:-1:2] * np.float32(0.25)
    halved[..., 0] += planes[..., 0] * np.float32(0.25)
    return halved


class PlaneCache:
    """Converted planes by identity of the image, the least recently used dropped first.

    quarter_turns : clockwise turns that a player gives the stored picture; the planes are
    turned the other way to lie in it.
    """

    def __init__(
        self,
        layout: PixelLayout,
        signal: Signal,
        *,
        quarter_turns: int = 0,
        capacity_bytes: int = CACHE_BYTES,
    ) -> None:
        self.layout = layout
        self.signal = signal
        self.quarter_turns = quarter_turns
        self._capacity_bytes = capacity_bytes
        self._bytes = 0
        self._kept: OrderedDict[Image, tuple[ComponentPlanes, ...]] = OrderedDict()

    def planes(self, image: Image) -> tuple[ComponentPlanes, ...]:
        """The planes of an image, converted now if they are not at hand."""
        kept = self._kept.get(image)
        if kept is not None:
            self._kept.move_to_end(image)
            return kept
        converted = convert(np.rot90(image.rgba, self.quarter_turns), self.layout, self.signal)
        self._kept[image] = converted
        self._bytes += _size(converted)
        while self._bytes > self._capacity_bytes and len(self._kept) > 1:
            _, dropped = self._kept.popitem(last=False)
            self._bytes -= _size(dropped)
        return converted


def _size(planes: tuple[ComponentPlanes, ...]) -> int:
    arrays: dict[int, NDArray[Any]] = {}
    for component in planes:
        arrays[id(component.term)] = component.term
        arrays[id(component.keep)] = component.keep
    return sum(array.nbytes for array in arrays.values())
