"""Images of the drawing stage, turned into the footage's own samples and kept.

A frame shows mostly the same images as the one before, only shifted, so each is
converted once. For each plane of the footage there are then two: `term`, what the graphics
add, and `keep`, the share of the footage that stays, so that blending is one multiplication
and one addition per sample. Both are interleaved as the footage is: its samples are then
worked on in the order in which they lie, up to twice as fast as component by component.

For 8-bit samples both are 16-bit whole numbers with 8 bits below the point: half the
memory of float32 and a quarter less time. What rounding `keep` would do to footage of
middle grey is put right in `term`, so the result is within 0.76 codes of the exact one.
Deeper samples are blended in float32.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pacerail.compose.colour import Signal, code_matrix, graphics_in_signal
from pacerail.compose.layout import PixelLayout
from pacerail.patch import Image

Plane = NDArray[np.float32]
Factors = NDArray[np.uint16] | NDArray[np.float32]

FIXED_BITS = 8  # below the point of a fixed-point number
FIXED_ONE = 1 << FIXED_BITS
MIDDLE = 128  # code of middle grey and of no colour

# Kept per pixel of the canvas, and where its size is not told. Planes take 6 bytes a pixel of
# graphics in 8 bits and 24 at most, so that graphics could cover all of the canvas; rails
# cover a sixth of it, in two tones.
CACHE_BYTES_PER_PIXEL = 24
CACHE_BYTES = 192 << 20


@dataclass(frozen=True, eq=False)
class PlaneFactors:
    """Both of the size of one plane of the footage; uint16 in fixed point, else float32.

    Samples that belong to no component, as alpha or padding, stay as they are.
    """

    term: Factors
    """Graphics, premultiplied, with half a code for rounding; times FIXED_ONE if uint16."""
    keep: Factors
    """1 - alpha, times FIXED_ONE if uint16, else divided by 2**shift of the layout, so that
    stored samples go in as they are."""


def convert(
    rgba: NDArray[np.uint8], layout: PixelLayout, signal: Signal
) -> tuple[PlaneFactors, ...]:
    """Factors for each plane of the footage, of a premultiplied sRGB image of even size.

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
    matrix = code_matrix(signal).astype(np.float32)
    top = np.float32((1 << signal.bit_depth) - 1)
    keep = _keep(planes[3], layout)
    chroma_keep = keep if cells is planes else _keep(cells[3], layout)
    terms: list[Factors] = []
    shares = (keep, chroma_keep, chroma_keep)
    for component, (source, share) in enumerate(zip((planes, cells, cells), shares, strict=True)):
        red, green, blue, offset = matrix[:, component]
        term: Plane = red * source[0] + green * source[1] + blue * source[2] + offset * source[3]
        # A saturated colour in full range reaches half a code past the top.
        term = np.minimum(term, source[3] * top) + np.float32(0.5)
        if layout.is_fixed_point:
            excess = share - (1 - source[3]) * FIXED_ONE
            terms.append(np.rint(term * FIXED_ONE - excess * MIDDLE).astype(np.uint16))
        else:
            terms.append(term)
    return tuple(_interleaved(held, terms, shares, layout) for held in layout.planes)


def _interleaved(
    held: Sequence[int], terms: Sequence[Factors], shares: Sequence[Factors], layout: PixelLayout
) -> PlaneFactors:
    """Factors of one plane, which holds these components."""
    step = layout.components[held[0]].step
    if step == 1:
        return PlaneFactors(terms[held[0]], shares[held[0]])
    rows, columns = shares[held[0]].shape
    one, half = (FIXED_ONE, FIXED_ONE // 2) if layout.is_fixed_point else (2.0**-layout.shift, 0.5)
    term = np.full((rows, columns, step), half, shares[0].dtype)
    keep = np.full((rows, columns, step), one, shares[0].dtype)
    for component in held:
        first = layout.components[component].first
        term[..., first], keep[..., first] = terms[component], shares[component]
    return PlaneFactors(term.reshape(rows, -1), keep.reshape(rows, -1))


def _keep(alpha: Plane, layout: PixelLayout) -> Factors:
    if layout.is_fixed_point:
        return np.rint((1 - alpha) * FIXED_ONE).astype(np.uint16)
    return (1 - alpha) * np.float32(2.0**-layout.shift)


def left_sited_columns(planes: NDArray[np.float32]) -> NDArray[np.float32]:
    """Every second column, filtered (1 2 1) / 4 around it; the border repeats."""
    halved = planes[..., 0::2] * np.float32(0.5) + planes[..., 1::2] * np.float32(0.25)
    halved[..., 1:] += planes[..., 1:-1:2] * np.float32(0.25)
    halved[..., 0] += planes[..., 0] * np.float32(0.25)
    return halved


def cache_bytes(canvas: tuple[int, int]) -> int:
    """Room for the planes of what a canvas shows at a time, with some to spare."""
    return CACHE_BYTES_PER_PIXEL * canvas[0] * canvas[1]


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
        self._kept: OrderedDict[Image, tuple[PlaneFactors, ...]] = OrderedDict()

    def planes(self, image: Image) -> tuple[PlaneFactors, ...]:
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


def _size(planes: tuple[PlaneFactors, ...]) -> int:
    arrays: dict[int, NDArray[Any]] = {}
    for component in planes:
        arrays[id(component.term)] = component.term
        arrays[id(component.keep)] = component.keep
    return sum(array.nbytes for array in arrays.values())
