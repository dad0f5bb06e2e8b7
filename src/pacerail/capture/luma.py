"""Luma of a decoded picture as an array: a view of the decoder's own memory where possible."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import av
import numpy as np
from numpy.typing import NDArray

from pacerail.errors import InputError
from pacerail.picture import Luma

# Packed formats of 8 bits: offset of the sample that stands for luma (G in RGB), bytes per
# pixel. The names spell the byte order (libavutil/pixfmt.h).
_PACKED = {
    "rgb24": (1, 3),
    "bgr24": (1, 3),
    "rgba": (1, 4),
    "bgra": (1, 4),
    "rgb0": (1, 4),
    "bgr0": (1, 4),
    "argb": (2, 4),
    "abgr": (2, 4),
    "0rgb": (2, 4),
    "0bgr": (2, 4),
    "yuyv422": (0, 2),
    "yvyu422": (0, 2),
    "uyvy422": (1, 2),
}
# Semi-planar formats keep their bits at the top of a 16-bit sample, planar ones at the bottom
# (libavutil/pixfmt.h: "data in the high bits").
_HIGH_BITS = ("p010", "p012", "p210", "p212", "p410", "p412")
# Deeper samples lose their lowest bits: noise there says nothing about flips.
_MOST_BITS = 12


@dataclass(frozen=True)
class LumaLayout:
    """Where the luma samples of a pixel format lie."""

    plane: int
    dtype: np.dtype[np.uint8] | np.dtype[np.uint16]
    offset: int
    """Bytes before the first sample of a row."""
    step: int
    """Bytes from one sample to the next."""
    shift: int
    """Unused low bits of a sample."""
    bit_depth: int

    def view(self, frame: av.VideoFrame) -> Luma:
        """Luma of `frame`, shape (rows, columns), native uint8 or uint16; not to be written to.

        Shares the frame's memory unless samples must be shifted, swapped or picked out.
        """
        plane = frame.planes[self.plane]
        raw: Luma = np.ndarray(
            (frame.height, frame.width),
            self.dtype,
            plane,  # type: ignore[arg-type]
            self.offset,
            (plane.line_size, self.step),
        )
        if self.step != self.dtype.itemsize:
            return raw.copy()
        if self.shift or not self.dtype.isnative:
            shifted: NDArray[np.uint16] = np.right_shift(raw, self.shift, dtype=np.uint16)
            return shifted
        raw.flags.writeable = False
        return raw


@lru_cache
def luma_layout(pixel_format: str) -> LumaLayout:
    """Layout of a pixel format by its libavutil name. Raises InputError if we cannot read it."""
    if pixel_format in _PACKED:
        offset, step = _PACKED[pixel_format]
        return LumaLayout(0, np.dtype(np.uint8), offset, step, 0, 8)
    try:
        layout = av.VideoFormat(pixel_format)
    except ValueError:
        raise _unreadable(pixel_format) from None
    # Planar RGB is listed as R, G, B whatever plane each lies in.
    luma = layout.components[1 if layout.is_rgb and layout.is_planar else 0]
    sampled = layout.is_planar or len(layout.components) == 1
    if not sampled or layout.has_palette or layout.is_bayer or not 8 <= luma.bits <= 16:
        raise _unreadable(pixel_format)
    if luma.bits == 8:
        return LumaLayout(luma.plane, np.dtype(np.uint8), 0, 1, 0, 8)
    dtype = np.dtype(">u2" if layout.is_big_endian else "<u2")
    padding = 16 - luma.bits if pixel_format.startswith(_HIGH_BITS) else 0
    surplus = max(luma.bits - _MOST_BITS, 0)
    return LumaLayout(luma.plane, dtype, 0, 2, padding + surplus, luma.bits - surplus)


def _unreadable(pixel_format: str) -> InputError:
    return InputError(
        f"pixel format must have a luma plane or be 8-bit RGB, got {pixel_format}; "
        "convert the capture to yuv420p or yuv444p10le"
    )
