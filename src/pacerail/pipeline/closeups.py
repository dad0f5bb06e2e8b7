"""One moment of one or two captures, looked at closely: a page, a push in, an alternation."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pacerail.capture.open import open_capture
from pacerail.choices import STILL_FILTERS
from pacerail.compose.encode import DEFAULT_ENCODER, check_container, container_format_of
from pacerail.compose.frozen import write_frozen
from pacerail.compose.moment import frame_on_screen
from pacerail.compose.png import png_bytes
from pacerail.compose.seen import Rgb, seen_picture
from pacerail.compose.zoom import zoomed
from pacerail.draw.plaque import draw_plaque
from pacerail.draw.still_page import Pane, PixelBox, difference_map, lay_page, legend
from pacerail.draw.style import Style
from pacerail.errors import UsageError
from pacerail.extent import refresh_at
from pacerail.files import atomic_output, check_writable
from pacerail.pipeline.measuring import prospect_of
from pacerail.pipeline.watcher import QUIET, Watcher
from pacerail.region import Region
from pacerail.timebase import ticks_to_refresh

# WCAG 2.x, success criterion 2.3.1, allows three flashes in a second; a full cycle of an
# alternation must stay below that.
MOST_CYCLES_HZ = 3
LINE = 2
"""Width of the line of a split picture in pixels."""


@dataclass(frozen=True, eq=False)
class CloseUp:
    """The picture of a platform at the moment that is looked at."""

    label: str
    picture: Rgb


@dataclass(frozen=True)
class PageLook:
    """What a page of stills shows; checked before any decoding.

    Raises UsageError for what does not go together.
    """

    style: Style
    arrangement: str = "abreast"
    """One of `choices.STILL_ARRANGEMENTS`."""
    regions: tuple[Region, ...] = ()
    scale: int | None = None
    """Pixels of the page per source pixel; the most that fit the picture's width if None."""
    filter_: str = STILL_FILTERS[0]
    divider: Fraction = Fraction(1, 2)

    def __post_init__(self) -> None:
        if (self.arrangement == "zoom") != bool(self.regions):
            raise UsageError(
                "regions must go with the arrangement zoom, got "
                f"{len(self.regions)} and {self.arrangement}; pass --arrange zoom --region x,y,w,h"
            )
        if self.scale is not None and self.scale < 1:
            raise UsageError(f"scale must be at least 1, got {self.scale}; write for example 8")


def close_up(
    capture: Path,
    moment: str,
    label: str | None,
    watcher: Watcher = QUIET,
    *,
    refresh_hz: Fraction | None = None,
) -> CloseUp:
    """The picture on screen at a moment, as written, at its own pixels.

    refresh_hz : overrides the refresh rate found in the file.
    Raises UsageError for a moment outside the capture, InputError for one that cannot be
    shown, HDR included.
    """
    refresh = refresh_at(moment, prospect_of(capture, refresh_hz))
    with open_capture(capture, refresh_hz=refresh_hz, allow_interlaced=True) as opened:
        info, start = opened.info, opened.video.start_time or 0
        frame = frame_on_screen(
            opened.container,
            opened.video,
            lambda pts: ticks_to_refresh(pts, start, info.time_base, info.refresh_hz),
            refresh,
        )
    seen = seen_picture(frame)
    for sentence in seen.assumptions:
        watcher.notice(f"{capture.name}: {sentence}")
    return CloseUp(label or capture.stem, seen.rgb)


def write_page(
    sides: Sequence[CloseUp], look: PageLook, output: Path, *, overwrite: bool = False
) -> None:
    """Write a page of stills as PNG, of 16 bits where a capture has more than 8."""
    page = lay_page(_rows(sides, look), look.style)
    with atomic_output(output, overwrite=overwrite) as part:
        part.write_bytes(png_bytes(page))


def write_push(
    side: CloseUp,
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
    shape.
    """
    picture = _eight_bits(side.picture)
    size = _even_size(picture)
    count = _pictures(length_s, rate)
    end = _in_shape(_box(region, picture), size)

    def pictures() -> Iterator[NDArray[np.uint8]]:
        for number in range(count):
            share = number / max(count - 1, 1)
            box = _between(size, end, share * share * (3 - 2 * share))
            is_last = number == count - 1
            yield _eight_bits(zoomed(picture, box, size, filter_ if is_last else "cubic"))

    _write(pictures(), count, size, rate, output, overwrite, watcher)


def check_clip(output: Path, *, overwrite: bool) -> None:
    """Raise UsageError or OutputError if no clip can be written there."""
    check_container(DEFAULT_ENCODER, container_format_of(output))
    check_writable(output, overwrite=overwrite)


def check_interval(interval_s: Fraction) -> None:
    """Raise UsageError where an alternation would flash."""
    if interval_s <= 0 or 1 / (2 * interval_s) >= MOST_CYCLES_HZ:
        raise UsageError(
            f"interval must keep the alternation below {MOST_CYCLES_HZ} cycles a second "
            f"(WCAG 2.3.1, flashes), got {float(interval_s):g} s; pass 0.2 s or longer"
        )


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
    _check_alike(sides)
    size = _even_size(sides[0].picture)
    count = _pictures(length_s, rate)
    shown = [_named(side, style, size) for side in sides]
    pictures = (shown[int(number / rate // interval_s) % 2] for number in range(count))
    _write(pictures, count, size, rate, output, overwrite, watcher)


def _rows(sides: Sequence[CloseUp], look: PageLook) -> list[list[Pane]]:
    if look.arrangement in ("split", "difference"):
        _check_alike(sides)
        first, second = (side.picture for side in sides)
        names = " | ".join(side.label for side in sides)
        if look.arrangement == "split":
            return [[Pane(_split(first, second, look.divider), names)]]
        colours, end = difference_map(first, second)
        names = " and ".join(side.label for side in sides)
        bar = legend(end, colours.shape[1], max(len(colours) // 30, 8))
        return [[Pane(colours, f"{names}: difference")], [bar]]
    boxes = [[_box(region, side.picture) for region in look.regions] for side in sides]
    rows = [
        [Pane(side.picture, side.label, tuple(own)) for side, own in zip(sides, boxes, strict=True)]
    ]
    for number in range(len(look.regions)):
        rows.append(
            [_enlarged(side, own[number], look) for side, own in zip(sides, boxes, strict=True)]
        )
    return rows


def _enlarged(side: CloseUp, box: PixelBox, look: PageLook) -> Pane:
    x, y, width, height = box
    rows, columns, _ = side.picture.shape
    scale = look.scale or max(min(columns // width, rows // height), 1)
    size = (width * scale, height * scale)
    place = f"{side.label}, {scale}×, {look.filter_}: {width}×{height} at {x}, {y}"
    return Pane(zoomed(side.picture, box, size, look.filter_), place)


def _split(first: Rgb, second: Rgb, divider: Fraction) -> Rgb:
    column = min(max(round(first.shape[1] * divider), 1), first.shape[1] - 1)
    if first.dtype != second.dtype:
        first, second = _eight_bits(first), _eight_bits(second)
    joined = first.copy()
    joined[:, column:] = second[:, column:]
    joined[:, max(column - LINE // 2, 0) : column + LINE // 2] = np.iinfo(first.dtype).max
    return joined


def _named(side: CloseUp, style: Style, size: tuple[int, int]) -> NDArray[np.uint8]:
    """The picture with its name in the lower left of the graphics-safe area."""
    picture = np.array(_eight_bits(side.picture)[: size[1], : size[0]])
    name = draw_plaque(side.label, style, *size, room=size[0] // 2).rgba
    rows, columns, _ = name.shape
    y, x = size[1] - size[1] // 20 - rows, size[0] // 20
    spot = picture[y : y + rows, x : x + columns]
    keep = 1 - name[..., 3:].astype(np.float32) / 255
    spot[...] = np.round(spot * keep + name[..., :3])
    return picture


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


def _box(region: Region, picture: Rgb) -> PixelBox:
    rows, columns = region.slices(*picture.shape[:2])
    return (
        columns.start,
        rows.start,
        columns.stop - columns.start,
        rows.stop - rows.start,
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


def _eight_bits(picture: Rgb) -> NDArray[np.uint8]:
    if picture.dtype == np.uint8:
        return picture.astype(np.uint8, copy=False)
    return np.round(picture / 257).astype(np.uint8)


def _check_alike(sides: Sequence[CloseUp]) -> None:
    if len(sides) != 2:
        raise UsageError(f"two captures must be named for this, got {len(sides)}; add the second")
    first, second = (side.picture.shape for side in sides)
    if first != second:
        raise UsageError(
            "pictures must be of the same size to be laid over each other, got "
            f"{first[1]}x{first[0]} and {second[1]}x{second[0]}; show them abreast"
        )
