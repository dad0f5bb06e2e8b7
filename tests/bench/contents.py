"""What the clips of the corpus show: the demo scene, films, and pages made to mislead."""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction
from functools import lru_cache
from typing import Any

import numpy as np
import skia
from numpy.typing import NDArray

from demo import actors
from demo.canvas import Board, fill, image_of
from demo.looks import MERLE, WREN
from demo.scene import SHOTS, scene_source, shot_source
from demo.simulator import PictureSource, Rgb
from tests.bench.film import frames

Build = Callable[[int, int], PictureSource]
"""Makes a source for a width and height."""


@lru_cache(maxsize=3)
def source_of(content: str, width: int, height: int) -> PictureSource:
    """The picture source of a content by name. Raises KeyError for an unknown one."""
    return CONTENTS[content](width, height)


def _shot(name: str, speed: Fraction = Fraction(1), start_s: Fraction = Fraction(1, 3)) -> Build:
    def build(width: int, height: int) -> PictureSource:
        source = shot_source(name, width, height)
        return lambda t: source(start_s + speed * t)

    return build


def _dark(width: int, height: int) -> PictureSource:
    """The dash at night: an eighth of its light."""
    source = shot_source("dash", width, height)
    return lambda t: np.right_shift(source(t), 3, dtype=np.uint8)


def _film_grain(width: int, height: int) -> PictureSource:
    """The arcade with a program's own film grain, new in every frame."""
    source = shot_source("arcade", width, height)
    rng = np.random.default_rng(12)
    field = rng.normal(0, 6, (2 * height, 2 * width, 1)).astype(np.int16)

    def draw(t: Fraction) -> Rgb:
        place = np.random.default_rng(round(t * 10**6))
        top, left = place.integers(0, (height, width))
        grain = field[top : top + height, left : left + width]
        return _uint8(source(t)[..., :3] + grain)

    return draw


def _fade(width: int, height: int) -> PictureSource:
    """Gliding while the picture goes to black and back every two seconds."""
    source = shot_source("glide", width, height)

    def draw(t: Fraction) -> Rgb:
        light = round(256 * math.cos(math.pi * float(t) / 2) ** 2)
        return _uint8(source(t)[..., :3].astype(np.uint16) * light >> 8)

    return draw


def _cuts(width: int, height: int) -> PictureSource:
    """Another shot every seven tenths of a second."""
    sources = [shot_source(name, width, height) for name in ("dash", "arcade", "glide", "opening")]

    def draw(t: Fraction) -> Rgb:
        return sources[int(t / Fraction(7, 10)) % len(sources)](2 + t)

    return draw


def _letterbox(width: int, height: int) -> PictureSource:
    """The arcade between black bars, an eighth of the picture each."""
    source = shot_source("arcade", width, height)
    bar = height // 8

    def draw(t: Fraction) -> Rgb:
        picture = source(t)
        picture[:bar, :, :3] = picture[height - bar :, :, :3] = 0
        return picture

    return draw


def _split(width: int, height: int) -> PictureSource:
    """Two players, one above the other: the dash, and the arcade whose beams go behind the edge."""
    above, below = (shot_source(name, width, height) for name in ("dash", "arcade"))
    half = height // 2

    def draw(t: Fraction) -> Rgb:
        picture = above(t)
        picture[half:] = below(t + 5)[height // 4 : height // 4 + height - half]
        return picture

    return draw


def _cockpit(width: int, height: int) -> PictureSource:
    """The arcade above a panel that stands still."""
    source = shot_source("arcade", width, height)
    top = 5 * height // 8
    panel = shot_source("moored", width, height)(Fraction(0))[top:, :, :3] >> 1

    def draw(t: Fraction) -> Rgb:
        picture = source(t)
        picture[top:, :, :3] = panel
        return picture

    return draw


def _courier(width: int, height: int) -> PictureSource:
    """A still harbour with one small glider crossing it."""
    still = shot_source("moored", width, height)(Fraction(0))
    scale = height / 1080

    def draw(t: Fraction) -> Rgb:
        board = Board(width, height, scale)
        board.rgba[...] = still
        x = (200 + 150 * float(t)) % (width / scale)
        actors.glider(board.canvas, x, 420 + 60 * math.sin(float(t)), 0.45, -4.0, 0.2)
        return board.rgba

    return draw


def _credits(width: int, height: int) -> PictureSource:
    """A page of text scrolling up."""
    roles = ["Lamp keeper", "Net mender", "Second bell", "Tide clerk", "Ropes", "Evening post"]
    ships = ["Merle", "Wren", "Curlew", "Tern", "Plover", "Dunlin", "Petrel"]
    scale = height / 1080
    page = Board(width, 4 * height, scale)
    page.canvas.drawPaint(fill("0b0916"))
    for k in range(4 * 1080 // 72):
        middle, top = width / scale / 2, 72 * k + 12
        actors.label(page.canvas, roles[k % 6], middle - 20, top, 40, align="right", alpha=0.7)
        actors.label(page.canvas, ships[k * 3 % 7], middle + 20, top, 40, weight="SemiBold")
    return _scrolled(page.rgba, width, height, rows_per_s=120 * scale)


def _ledges(width: int, height: int) -> PictureSource:
    """Straight horizontal edges across the whole picture, moving up."""
    rng = np.random.default_rng(14)
    page = np.zeros((4 * height, width, 4), np.uint8)
    row = 0
    while row < len(page):
        thickness = int(rng.integers(height // 30, height // 6))
        page[row : row + thickness] = (*rng.integers(30, 220, 3), 255)
        row += thickness
    grain = rng.integers(0, 10, page.shape[:2])[..., None]
    page[..., :3] += grain.astype(np.uint8)
    return _scrolled(page, width, height, rows_per_s=height / 3)


def _scrolled(page: Rgb, width: int, height: int, rows_per_s: float) -> PictureSource:
    tall = np.concatenate([page, page[:height]])

    def draw(t: Fraction) -> Rgb:
        top = int(float(t) * rows_per_s) % len(page)
        return tall[top : top + height].copy()

    return draw


def _film_pan(width: int, height: int) -> PictureSource:
    """A film at 24 frames a second under a camera that pans in both directions."""
    pictures = frames("bigbuckbunny", 48, width * 3 // 2, height * 3 // 2)
    reach_x, reach_y = width // 4, height // 4

    def draw(t: Fraction) -> Rgb:
        picture = pictures[_to_and_fro(int(t * 24), len(pictures))]
        left = round(reach_x * (1 + math.sin(1.9 * float(t))))
        top = round(reach_y * (1 + math.sin(1.3 * float(t) + 1)))
        return np.ascontiguousarray(picture[top : top + height, left : left + width])

    return draw


def _film_zoom(width: int, height: int) -> PictureSource:
    """A film under a camera that moves in and out."""
    pictures = [
        image_of(np.dstack([rgb, np.full(rgb.shape[:2], 255, np.uint8)]), opaque=True)
        for rgb in frames("bigbuckbunny", 40, width * 3 // 2, height * 3 // 2)
    ]
    linear = skia.SamplingOptions(skia.FilterMode.kLinear)

    def draw(t: Fraction) -> Rgb:
        board = Board(width, height)
        share = 0.82 + 0.16 * math.sin(1.1 * float(t))
        columns, rows = width * 1.5 * share, height * 1.5 * share
        source = skia.Rect.MakeXYWH(
            (width * 1.5 - columns) / 2, (height * 1.5 - rows) / 2, columns, rows
        )
        target = skia.Rect.MakeWH(width, height)
        image = pictures[_to_and_fro(int(t * 24), len(pictures))]
        board.canvas.drawImageRect(image, source, target, linear)
        return board.rgba

    return draw


def _film(name: str, limit: int) -> Build:
    """The film itself: one of its frames every 25th of a second of program time."""

    def build(width: int, height: int) -> PictureSource:
        pictures = frames(name, limit, width, height)
        return lambda t: pictures[_to_and_fro(int(t * 25), len(pictures))].copy()

    return build


def _floor(moments: int) -> Build:
    """A floor of large texels under a still sky, flown over fast; each picture is the mean of so
    many moments of its frame, as motion blur makes it.
    """

    def build(width: int, height: int) -> PictureSource:
        rng = np.random.default_rng(17)
        patches = rng.integers(50, 170, (64, 64)).repeat(8, axis=0).repeat(8, axis=1)
        texture = (patches + rng.normal(0, 12, patches.shape)).clip(0, 255).astype(np.uint8)
        sky = np.linspace(90, 200, height // 2)[:, None].repeat(width, axis=1)
        below = np.arange(height - height // 2)[:, None] * 720 / height
        depth = 9000 / (below + 4)
        column = (np.arange(width) - width / 2) * 1280 / width * depth / 180

        def moment(t: Fraction) -> NDArray[Any]:
            row = (2 * depth + 713 * float(t)).astype(int) % len(texture)
            sway = 900 + 120 * math.sin(float(t))
            seen: NDArray[Any] = texture[row, (column + sway).astype(int) % len(texture)]
            return seen

        def draw(t: Fraction) -> Rgb:
            floors = [moment(t + Fraction(k, 90 * moments)).astype(float) for k in range(moments)]
            grey = np.concatenate([sky, np.mean(floors, axis=0)])
            return _uint8(grey[..., None].repeat(3, axis=2))

        return draw

    return build


def _uint8(samples: NDArray[Any]) -> Rgb:
    clipped: Rgb = np.clip(samples, 0, 255).astype(np.uint8)
    return clipped


def _to_and_fro(index: int, count: int) -> int:
    place = index % (2 * count - 2)
    return min(place, 2 * count - 2 - place)


CONTENTS: dict[str, Build] = {
    **{name: _shot(name) for name in SHOTS},
    "opening": _shot("opening", start_s=Fraction(3)),
    "scene": lambda width, height: scene_source(width, height, MERLE),
    "scene-wren": lambda width, height: scene_source(width, height, WREN),
    "cockpit": _cockpit,
    "courier": _courier,
    "credits": _credits,
    "cuts": _cuts,
    "dark": _dark,
    "fade": _fade,
    "film-grain": _film_grain,
    "ledges": _ledges,
    "letterbox": _letterbox,
    "split": _split,
    "film": _film("bigbuckbunny", 127),
    "bikes": _film("bikes", 250),
    "film-pan": _film_pan,
    "film-zoom": _film_zoom,
    "floor": _floor(1),
    "floor-blur": _floor(4),
}
"""Every content by name."""
