"""What drawing hands to composing: finished images and where they go."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, eq=False)
class Image:
    """A finished drawing; its identity is the key under which composing keeps its planes.

    rgba : uint8, shape (rows, columns, 4), premultiplied sRGB. Rows and columns are even.
    """

    rgba: NDArray[np.uint8]

    def __post_init__(self) -> None:
        rows, columns, channels = self.rgba.shape
        if channels != 4 or rows % 2 or columns % 2 or self.rgba.dtype != np.uint8:
            raise ValueError(
                f"image must be uint8 RGBA of even size, got {self.rgba.dtype} {self.rgba.shape}"
            )
        self.rgba.flags.writeable = False


@dataclass(frozen=True)
class Patch:
    """A rectangle of an image, placed on the canvas; every number is even, in pixels."""

    image: Image
    x: int
    y: int
    source_x: int
    source_y: int
    width: int
    height: int


def whole(image: Image, x: int, y: int) -> Patch:
    """The entire image with its top left corner at (x, y)."""
    rows, columns, _ = image.rgba.shape
    return Patch(image, x, y, 0, 0, columns, rows)
