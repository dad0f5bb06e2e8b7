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
from pacerail.draw.still_page import Pane, PixelBox, difference_map, lay_page, legend
from pacerail.draw.strip import lay_strip
from pacerail.draw.style import load_style, style_names
from pacerail.figure import Event, EventKind
from pacerail.patch import Image
from tests.draw.made_tracks import eventful_spans, flat, harbour, make_track, paint

FOLDER = Path(__file__).parent / "golden"
MOMENT = 168
"""Refresh shown: torn frames, a stall, and to come a fault."""
LINES = (360, 1080, 2160)
"""Shorter side of the canvases."""

# Rasterisers of another build place soft edges of letters a little differently; a blur over
# five pixels evens that out, while a moved tile or a lost digit stays far above these.
MOST_MEAN_DIFFERENCE = 0.6
MOST_DIFFERENCE = 40.0


def golden_pictures() -> Iterator[tuple[str, Callable[[], NDArray[np.uint8]]]]:
    """Name and maker of each picture, uint8 RGB."""
    for style in style_names():
        for lines in LINES:
            yield f"{style}-{lines}", functools.partial(_both_forms, style, lines)
    yield "strip", _strip
    yield "stills", _stills


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


def _both_forms(style: str, lines: int) -> NDArray[np.uint8]:
    """Solo and mirrored rail of a style, pixel by pixel, under one another or abreast."""
    canvas = (lines * 16 // 9, lines)
    is_upright = style == "mast"
    rails = [_rail(style, *(canvas[::-1] if is_upright else canvas), count) for count in (1, 2)]
    return np.concatenate(rails, axis=1 if is_upright else 0)


def _stills() -> NDArray[np.uint8]:
    """A page of stills: two pictures with locators, parts of them enlarged, a difference map."""
    # In few codes, so that the file stays small.
    sides = {
        label: harbour(240, 136, seed) // 40 * 40 for label, seed in (("Merle", 2), ("Wren", 7))
    }
    box: PixelBox = (150, 52, 40, 22)
    x, y, width, height = box
    rows = [
        [Pane(picture, label, (box,)) for label, picture in sides.items()],
        [
            Pane(
                picture[y : y + height, x : x + width].repeat(6, axis=0).repeat(6, axis=1),
                f"{label}, 6×, nearest: {width}×{height} at {x}, {y}",
            )
            for label, picture in sides.items()
        ],
    ]
    colours, end = difference_map(*sides.values())
    rows += [[Pane(colours, "Merle and Wren: difference")], [legend(end, 240, 8)]]
    return lay_page(rows, load_style("quay")).astype(np.uint8)


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
