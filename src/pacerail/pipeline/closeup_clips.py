"""Clips of one frozen moment: a push in to a region, and two pictures in turn."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pacerail.choices import check_interval
from pacerail.compose.encode import DEFAULT_ENCODER, check_container, container_format_of
from pacerail.compose.frozen import write_frozen
from pacerail.compose.seen import Rgb
from pacerail.compose.zoom import zoomed
from pacerail.draw.plaque import draw_plaque
from pacerail.draw.still_page import PixelBox
from pacerail.draw.style import Style
from pacerail.errors import UsageError
from pacerail.files import atomic_output, check_writable
from pacerail.pipeline.closeups import CloseUp, box_of, check_alike, eight_bits
from pacerail.pipeline.watcher import QUIET, Watcher
from pacerail.region import Region


def write_push(
    side: CloseUp,
    style: Style,
    region: Region,
    length_s: Fraction,
    rate: Fraction,
    filter_: str,
    output: Path,
    *,
    overwrite: bool = False,
    watcher: Watcher = QUIET,
) -> None:
    """Write a clip that moves from the full picture to a region, which it fills at the end.

    The speed of the zoom rises and falls smoothly; the region is widened to the picture's
    shape. The name of the platform stands in the lower left throughout.
    """
    picture = eight_bits(side.picture)
    size = _even_size(picture)
    count = _pictures(length_s, rate)
    end = _in_shape(box_of(region, picture), size)
    name = _Name(side.label, style, size)

    def pictures() -> Iterator[NDArray[np.uint8]]:
        for number in range(count):
            share = number / max(count - 1, 1)
            box = _between(size, end, share * share * (3 - 2 * share))
            is_last = number == count - 1
            shown = eight_bits(zoomed(picture, box, size, filter_ if is_last else "cubic"))
            yield name.on(shown)

    _write(pictures(), count, size, rate, output, overwrite, watcher)


def check_clip(output: Path, *, overwrite: bool) -> None:
    """Raise UsageError or OutputError if no clip can be written there."""
    check_container(DEFAULT_ENCODER, container_format_of(output))
    check_writable(output, overwrite=overwrite)


def write_alternation(
    sides: Sequence[CloseUp],
    style: Style,
    interval_s: Fraction,
    length_s: Fraction,
    rate: Fraction,
    output: Path,
    *,
    overwrite: bool = False,
    watcher: Watcher = QUIET,
) -> None:
    """Write a clip that shows two pictures in turn, each under its name, an interval long."""
    check_interval(interval_s)
    check_alike(sides)
    size = _even_size(sides[0].picture)
    count = _pictures(length_s, rate)
    shown = [
        _Name(side.label, style, size).on(eight_bits(side.picture)[: size[1], : size[0]])
        for side in sides
    ]
    pictures = (shown[int(number / rate // interval_s) % 2] for number in range(count))
    _write(pictures, count, size, rate, output, overwrite, watcher)


class _Name:
    """A name in the lower left of the graphics-safe area; an empty one leaves no mark."""

    def __init__(self, label: str, style: Style, size: tuple[int, int]) -> None:
        width, height = size
        self._ink = (
            draw_plaque(label, style, width, height, room=width // 2).rgba if label else None
        )
        self._left, self._foot = width // 20, height - height // 20

    def on(self, picture: NDArray[np.uint8]) -> NDArray[np.uint8]:
        """A copy of the picture with the name on it."""
        named = np.array(picture)
        if self._ink is not None:
            rows, columns, _ = self._ink.shape
            spot = named[self._foot - rows : self._foot, self._left : self._left + columns]
            keep = 1 - self._ink[..., 3:].astype(np.float32) / 255
            spot[...] = np.round(spot * keep + self._ink[..., :3])
        return named


def _write(
    pictures: Iterator[NDArray[np.uint8]],
    count: int,
    size: tuple[int, int],
    rate: Fraction,
    output: Path,
    overwrite: bool,
    watcher: Watcher,
) -> None:
    container_format = container_format_of(output)
    with (
        atomic_output(output, overwrite=overwrite) as part,
        watcher.task(f"drawing {output.name}", count) as advance,
    ):
        write_frozen(
            pictures, size, rate, part, container_format=container_format, progress=advance
        )


def _in_shape(box: PixelBox, size: tuple[int, int]) -> tuple[float, float, float, float]:
    """The box widened to the shape of the picture around its middle, kept inside."""
    x, y, width, height = box
    share = max(width / size[0], height / size[1])
    wide, tall = share * size[0], share * size[1]
    left = min(max(x + (width - wide) / 2, 0), size[0] - wide)
    top = min(max(y + (height - tall) / 2, 0), size[1] - tall)
    return left, top, wide, tall


def _between(
    size: tuple[int, int], end: tuple[float, float, float, float], share: float
) -> tuple[float, float, float, float]:
    """The part of the picture on the way in: its size shrinks by equal ratios."""
    zoom = (end[2] / size[0]) ** share
    # The far corner keeps its direction, so the eye is led along one line.
    done = 1.0 if end[2] == size[0] else (1 - zoom) / (1 - end[2] / size[0])
    return end[0] * done, end[1] * done, size[0] * zoom, size[1] * zoom


def _pictures(length_s: Fraction, rate: Fraction) -> int:
    count = round(length_s * rate)
    if count < 1:
        raise UsageError(
            f"length must hold at least one picture, got {float(length_s):g} s; make it longer"
        )
    return count


def _even_size(picture: Rgb) -> tuple[int, int]:
    return picture.shape[1] // 2 * 2, picture.shape[0] // 2 * 2
