"""Pictures for the tests of native sizes: drawn small, one sample a pixel, and enlarged."""

from __future__ import annotations

from functools import lru_cache, reduce
from operator import add
from pathlib import Path

import av
import numpy as np

from pacerail.sharpness.estimate import Estimate, estimate
from pacerail.sharpness.look import look_at
from tests.bench.pixels import enlarged, yuv_frame
from tests.bench.pixels_scenes import SHARP, Gray

ROWS, COLUMNS = 360, 640
"""Size at which everything is shown."""
PICTURES = 4


@lru_cache(maxsize=32)
def drawn(scene: str, rows: int, columns: int) -> tuple[Gray, ...]:
    return tuple(SHARP[scene](rows, columns, number) for number in range(PICTURES))


@lru_cache(maxsize=64)
def shown(
    scene: str,
    rows: int,
    columns: int | None = None,
    kernel: str = "bicubic",
    size: tuple[int, int] = (ROWS, COLUMNS),
) -> tuple[Gray, ...]:
    """Pictures drawn at a size and enlarged to another, (rows, columns)."""
    small = drawn(scene, rows, columns or round(size[1] * rows / size[0]))
    if small[0].shape == size:
        return small
    return tuple(enlarged(picture, *size, kernel) for picture in small)


def estimate_of(pictures: tuple[Gray, ...]) -> Estimate:
    return estimate(reduce(add, (look_at(picture, 8) for picture in pictures)))


def record_pictures(path: Path, pictures: list[Gray], rate: int = 60) -> Path:
    """A lossless capture of those pictures, one each refresh."""
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1", rate=rate)
        assert isinstance(stream, av.VideoStream)
        stream.height, stream.width = pictures[0].shape
        stream.pix_fmt = "yuv420p"
        for number, picture in enumerate(pictures):
            frame = yuv_frame(picture)
            frame.pts = number
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


def stairs_picture(native_rows: int, slope: float, rows: int = 720, columns: int = 1280) -> Gray:
    """A hard slanting edge drawn at so many lines and enlarged."""
    native_columns = round(columns * native_rows / rows)
    y = np.arange(native_rows)[:, None] + 0.5
    x = np.arange(native_columns)[None, :] + 0.5
    flat = np.where(y > 0.4 * native_rows + slope * x, 60, 180).astype(np.uint8)
    return enlarged(flat, rows, columns, "bicubic")
