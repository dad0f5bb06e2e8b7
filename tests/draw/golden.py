"""Golden pictures: what they show, and how like them a drawing must be.

``python -m tests.draw.golden`` draws them all again after a wanted change of the look.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pacerail.draw.library import load_skia
from pacerail.draw.overlay import Overlay
from pacerail.draw.page import write_png
from pacerail.draw.strip import lay_strip
from pacerail.draw.style import load_style, style_names
from pacerail.figure import Event, EventKind
from pacerail.patch import Image
from tests.draw.made_tracks import eventful_spans, flat, make_track, paint

FOLDER = Path(__file__).parent / "golden"
MOMENT = 168
"""Refresh shown: torn frames, a stall, and to come a fault."""

# Rasterisers of another build place soft edges of letters a little differently; a blur over
# five pixels evens that out, while a moved tile or a lost digit stays far above these.
MOST_MEAN_DIFFERENCE = 0.6
MOST_DIFFERENCE = 40.0


def golden_pictures() -> Iterator[tuple[str, Callable[[], NDArray[np.uint8]]]]:
    """Name and maker of each picture, uint8 RGB."""
    for style in style_names():
        yield style, functools.partial(_both_forms, style)
        yield f"{style}-2160-quarter", functools.partial(_large_forms, style)
    yield "quay-2160", lambda: _rail("quay", 3840, 2160, 1)[:, :1400]
    yield "strip", _strip


def difference(first: NDArray[np.uint8], second: NDArray[np.uint8]) -> tuple[float, float]:
    """Mean and largest difference of two pictures of one size, blurred over five pixels."""
    gap = np.abs(_blurred(first) - _blurred(second))
    return float(gap.mean()), float(gap.max())


def read(name: str) -> NDArray[np.uint8]:
    """The golden picture of a name."""
    skia = load_skia()
    rgba = skia.Image.open(str(FOLDER / f"{name}.png")).toarray(colorType=skia.kRGBA_8888_ColorType)
    rgb: NDArray[np.uint8] = np.ascontiguousarray(rgba[..., :3])
    return rgb


def _both_forms(style: str) -> NDArray[np.uint8]:
    """Solo and mirrored rail of a style at 360 and 1080 lines, under one another or abreast."""
    size = (1080, 1920) if style == "mast" else (1920, 1080)
    small = (360, 640) if style == "mast" else (640, 360)
    rails = [_rail(style, *canvas, count) for canvas in (size, small) for count in (1, 2)]
    axis = 1 if style == "mast" else 0
    longest = max(rail.shape[1 - axis] for rail in rails)
    padded = []
    for rail in rails:
        room = [(0, 0), (0, 0), (0, 0)]
        room[1 - axis] = (0, longest - rail.shape[1 - axis])
        padded.append(np.pad(rail, room))
    return np.concatenate(padded, axis=axis)


def _large_forms(style: str) -> NDArray[np.uint8]:
    """Solo and mirrored rail at 2160 lines, each pixel the mean of 4 x 4, to keep files small."""
    size = (2160, 3840) if style == "mast" else (3840, 2160)
    axis = 1 if style == "mast" else 0
    return np.concatenate([_quarter(_rail(style, *size, count)) for count in (1, 2)], axis=axis)


def _quarter(picture: NDArray[np.uint8]) -> NDArray[np.uint8]:
    rows, columns = (size // 4 for size in picture.shape[:2])
    cells = picture[: 4 * rows, : 4 * columns].reshape(rows, 4, columns, 4, 3)
    means: NDArray[np.uint8] = np.rint(cells.mean(axis=(1, 3))).astype(np.uint8)
    return means


def _rail(style: str, width: int, height: int, count: int) -> NDArray[np.uint8]:
    spans = eventful_spans()
    tracks = [make_track(spans, "Merle"), make_track(spans[::-1], "Wren")][:count]
    overlay = Overlay(
        tracks,
        load_style(style),
        width,
        height,
        first_refresh=0,
        end_refresh=tracks[0].series.refreshes,
    )
    x, y, w, h = overlay.rectangle
    return paint(flat(width, height, 96), overlay.patches(MOMENT))[y : y + h, x : x + w]


def _strip() -> NDArray[np.uint8]:
    spans = eventful_spans()
    tracks = [make_track(spans, "Merle"), make_track(spans[::-1], "Wren")]
    stall = Event(EventKind.STALL, 2.1333, 2.3667, 128, 13.0, "refreshes")
    sheet = lay_strip(
        tracks,
        load_style("quay"),
        0.0,
        3.0,
        width=1280,
        caption=["43.1 fps on average.", "12 frames late; the longest lasted 233 ms."],
        events=[[stall], []],
    )
    return sheet.image().rgba[..., :3]


def _blurred(picture: NDArray[np.uint8]) -> NDArray[np.float64]:
    result = picture.astype(np.float64)
    for axis in (0, 1):
        room = [(0, 0), (0, 0), (0, 0)]
        room[axis] = (2, 2)
        padded = np.pad(result, room, mode="edge")
        size = result.shape[axis]
        parts = [np.take(padded, range(i, i + size), axis=axis) for i in range(5)]
        result = np.mean(parts, axis=0)
    return result


def main() -> None:
    """Draw all golden pictures and put them in their folder."""
    FOLDER.mkdir(exist_ok=True)
    for name, make in golden_pictures():
        rgb = make()
        rows, columns = (size // 2 * 2 for size in rgb.shape[:2])
        rgba = np.full((rows, columns, 4), 255, np.uint8)
        rgba[..., :3] = rgb[:rows, :columns]
        write_png(Image(rgba), FOLDER / f"{name}.png")
        print(f"{name}.png {columns}x{rows}")


if __name__ == "__main__":
    main()
