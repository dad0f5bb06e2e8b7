"""How the samples of a pixel format lie in memory, as views per colour component."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import av
import numpy as np
from av.video.plane import VideoPlane
from numpy.typing import NDArray

from pacerail.errors import InputError

Samples = NDArray[Any]


@dataclass(frozen=True)
class Component:
    """One colour component: every `step`-th sample of a plane, from `first` on."""

    plane: int
    first: int = 0
    step: int = 1


@dataclass(frozen=True)
class PixelLayout:
    """A pixel format that graphics can be blended into."""

    name: str
    is_rgb: bool
    bit_depth: int
    components: tuple[Component, Component, Component]
    """In the order Y', Cb, Cr or R', G', B'."""
    chroma_columns: int = 1
    """Luma columns per chroma sample."""
    chroma_rows: int = 1
    """Luma rows per chroma sample."""
    shift: int = 0
    """Unused bits below the significant ones."""

    @property
    def dtype(self) -> type[np.uint8] | type[np.uint16]:
        """Type of one stored sample."""
        return np.uint8 if self.bit_depth == 8 else np.uint16

    @property
    def is_fixed_point(self) -> bool:
        """True where samples are blended in 16-bit whole numbers, else in float32."""
        return self.bit_depth == 8

    def steps(self, component: int) -> tuple[int, int]:
        """Picture rows and columns per sample of a component."""
        if component == 0 or self.is_rgb:
            return 1, 1
        return self.chroma_rows, self.chroma_columns

    @cached_property
    def planes(self) -> list[list[int]]:
        """The components that each plane holds."""
        count = max(component.plane for component in self.components) + 1
        return [
            [number for number, component in enumerate(self.components) if component.plane == plane]
            for plane in range(count)
        ]


_PLANAR = (Component(0), Component(1), Component(2))
_SEMI_PLANAR = (Component(0), Component(1, 0, 2), Component(1, 1, 2))
_SUBSAMPLING = {"420": (2, 2), "422": (2, 1), "444": (1, 1)}


def _layouts() -> dict[str, PixelLayout]:
    layouts = [
        PixelLayout("nv12", False, 8, _SEMI_PLANAR, 2, 2),
        PixelLayout("p010le", False, 10, _SEMI_PLANAR, 2, 2, shift=6),
        PixelLayout("gbrp", True, 8, (Component(2), Component(0), Component(1))),
        PixelLayout("gbrp10le", True, 10, (Component(2), Component(0), Component(1))),
    ]
    for sampling, (columns, rows) in _SUBSAMPLING.items():
        for name, depth in (
            (f"yuv{sampling}p", 8),
            (f"yuvj{sampling}p", 8),
            (f"yuv{sampling}p10le", 10),
            (f"yuv{sampling}p12le", 12),
        ):
            layouts.append(PixelLayout(name, False, depth, _PLANAR, columns, rows))
    for order in ("rgb24", "bgr24", "rgba", "bgra", "argb", "abgr", "rgb0", "bgr0", "0rgb", "0bgr"):
        letters = order.removesuffix("24")
        red, green, blue = (Component(0, letters.index(c), len(letters)) for c in "rgb")
        layouts.append(PixelLayout(order, True, 8, (red, green, blue)))
    return {layout.name: layout for layout in layouts}


LAYOUTS = _layouts()


def layout_of(pixel_format: str) -> PixelLayout:
    """The layout of one of LAYOUTS."""
    return LAYOUTS[pixel_format]


def is_rgb(pixel_format: str) -> bool:
    """True for formats of R'G'B' or of a palette of it."""
    described = av.VideoFormat(pixel_format)
    return described.is_rgb or described.has_palette


def nearest_format(pixel_format: str, allowed: Collection[str]) -> str:
    """The format itself if it is allowed, else the one that loses least.

    Alpha and what goes beyond 10 bits may be lost. Raises InputError when none is allowed.
    """
    described = av.VideoFormat(pixel_format)
    is_deep = described.components[0].bits > 8
    candidates = [pixel_format]
    if is_rgb(pixel_format):
        candidates += ["gbrp10le"] * is_deep + ["gbrp", "rgb24", "bgr0"]
    else:
        columns = min(16 // described.chroma_width(16), 2)
        rows = min(16 // described.chroma_height(16), 2)
        sampling = {(1, 1): "444", (2, 1): "422"}.get((columns, rows), "420")
        candidates.append(f"yuv{sampling}p10le" if is_deep else f"yuv{sampling}p")
    for candidate in candidates:
        if candidate in allowed and candidate in LAYOUTS:
            return candidate
    raise InputError(
        f"footage must have a pixel format that can be drawn on, got {pixel_format}; "
        "convert it to yuv420p first"
    )


def component_views(frame: av.VideoFrame, layout: PixelLayout) -> list[Samples]:
    """Writable views on the samples of each component, without a copy.

    They show the frame's present buffer: take them after `make_writable`, not before.
    """
    views = plane_views(frame, layout)
    return [
        views[component.plane][:, component.first :: component.step]
        for component in layout.components
    ]


def plane_views(frame: av.VideoFrame, layout: PixelLayout) -> list[Samples]:
    """Writable views on all samples of each plane, interleaved ones as they lie, without a copy.

    As with `component_views`, take them after `make_writable`.
    """
    views = []
    for plane, (component, *_) in zip(frame.planes, layout.planes, strict=True):
        # The width of an interleaved plane counts pixels, each of `step` samples.
        columns = plane.width * layout.components[component].step
        views.append(plane_samples(plane, layout.dtype, columns))
    return views


def plane_samples(plane: VideoPlane, dtype: type[np.generic], columns: int) -> Samples:
    """Writable view, shape (rows, columns), on a plane whose rows may be padded."""
    buffer: Any = plane  # offers the buffer protocol, which its type does not tell
    strides = (plane.line_size, np.dtype(dtype).itemsize)
    return np.ndarray((plane.height, columns), dtype, buffer, 0, strides)
