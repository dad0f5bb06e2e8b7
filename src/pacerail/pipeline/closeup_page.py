"""Pages of stills: one moment of one or two captures at source pixels, as PNG."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np

from pacerail.choices import MOST_SCALE, STILL_FILTERS
from pacerail.compose.png import png_bytes
from pacerail.compose.seen import Rgb
from pacerail.compose.zoom import zoomed
from pacerail.draw.still_page import Pane, PixelBox, difference_map, lay_page, legend
from pacerail.draw.style import Style
from pacerail.errors import UsageError
from pacerail.files import atomic_output
from pacerail.pipeline.closeups import CloseUp, box_of, check_alike, eight_bits
from pacerail.region import Region

LONGEST_SIDE = 8192
"""Pixels of an enlarged part: what memory and viewers bear. (Our choice.)"""
LINE = 2
"""Width of the line of a split picture in pixels."""


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
                f"{len(self.regions)} and {self.arrangement}; pass --arrange zoom --region X,Y,W,H"
            )
        if self.scale is not None and not 1 <= self.scale <= MOST_SCALE:
            raise UsageError(
                f"scale must be 1 to {MOST_SCALE}, got {self.scale}; write for example 8"
            )


def write_page(
    sides: Sequence[CloseUp], look: PageLook, output: Path, *, overwrite: bool = False
) -> None:
    """Write a page of stills as PNG, of 16 bits where a capture has more than 8."""
    page = lay_page(_rows(sides, look), look.style)
    with atomic_output(output, overwrite=overwrite) as part:
        part.write_bytes(png_bytes(page))


def _rows(sides: Sequence[CloseUp], look: PageLook) -> list[list[Pane]]:
    if look.arrangement in ("split", "difference"):
        check_alike(sides)
        first, second = (side.picture for side in sides)
        names = " | ".join(side.label for side in sides)
        if look.arrangement == "split":
            return [[Pane(_split(first, second, look.divider), names)]]
        colours, end = difference_map(first, second)
        names = " and ".join(side.label for side in sides)
        bar = legend(end, colours.shape[1], max(len(colours) // 30, 8))
        return [[Pane(colours, f"{names}: difference")], [bar]]
    boxes = [[box_of(region, side.picture) for region in look.regions] for side in sides]
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
    if max(size) > LONGEST_SIDE:
        raise UsageError(
            f"region must have at most {LONGEST_SIDE} pixels a side when it is enlarged, got "
            f"{size[0]}x{size[1]}; choose a smaller one or a lower scale"
        )
    place = f"{side.label}, {scale}×, {look.filter_}: {width}×{height} at {x}, {y}"
    return Pane(zoomed(side.picture, box, size, look.filter_), place)


def _split(first: Rgb, second: Rgb, divider: Fraction) -> Rgb:
    column = min(max(round(first.shape[1] * divider), 1), first.shape[1] - 1)
    if first.dtype != second.dtype:
        first, second = eight_bits(first), eight_bits(second)
    joined = first.copy()
    joined[:, column:] = second[:, column:]
    joined[:, max(column - LINE // 2, 0) : column + LINE // 2] = np.iinfo(first.dtype).max
    return joined
