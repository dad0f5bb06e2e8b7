"""A drawing surface in whole pixels: the few marks that everything here is made of.

Boxes, hatching and polygons are drawn without anti-aliasing, so that a copy shifted by
whole pixels is the same drawing; only letters have soft edges.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from pacerail.draw.colour import Colour
from pacerail.draw.lettering import Label, Weight, font, skia_colour, text_width
from pacerail.draw.library import load_skia
from pacerail.patch import Image, Patch


class Box(NamedTuple):
    """A rectangle in whole pixels."""

    x: int
    y: int
    width: int
    height: int

    @property
    def right(self) -> int:
        """First column to the right of the box."""
        return self.x + self.width

    @property
    def bottom(self) -> int:
        """First row below the box."""
        return self.y + self.height


class Canvas:
    """Draws onto a Skia canvas, be it of pixels, of a vector page or of any other kind."""

    def __init__(self, target: Any) -> None:
        self._target = target
        self._skia = load_skia()

    def box(self, box: Box, colour: Colour) -> None:
        """Fill a box."""
        self._target.drawRect(self._skia.Rect.MakeXYWH(*box), self._paint(colour))

    def wipe(self, box: Box, ground: Colour) -> None:
        """Put the ground back in a box, whatever was drawn there."""
        paint = self._paint(ground)
        if ground.opacity < 1:
            paint.setBlendMode(self._skia.BlendMode.kSrc)
        self._target.drawRect(self._skia.Rect.MakeXYWH(*box), paint)

    def outline(self, box: Box, thickness: int, colour: Colour) -> None:
        """Draw the inner border of a box."""
        across, down = min(thickness, box.width), min(thickness, box.height)
        self.box(Box(box.x, box.y, box.width, down), colour)
        self.box(Box(box.x, box.bottom - down, box.width, down), colour)
        inner = box.height - 2 * down
        if inner > 0:
            self.box(Box(box.x, box.y + down, across, inner), colour)
            self.box(Box(box.right - across, box.y + down, across, inner), colour)

    def polygon(self, points: Sequence[tuple[float, float]], colour: Colour) -> None:
        """Fill a polygon."""
        skia = self._skia
        path = skia.Path.Polygon([skia.Point(x, y) for x, y in points], True)
        self._target.drawPath(path, self._paint(colour))

    @contextmanager
    def clipped(self, box: Box) -> Iterator[None]:
        """Keep everything drawn in the block inside the box."""
        self._target.save()
        self._target.clipRect(self._skia.Rect.MakeXYWH(*box), doAntiAlias=False)
        try:
            yield
        finally:
            self._target.restore()

    def text(
        self,
        text: str,
        x: float,
        baseline: float,
        size: float,
        colour: Colour,
        *,
        weight: Weight = "Medium",
        align: float = 0.0,
    ) -> None:
        """Draw one line in the shipped face; `align` 0 starts, 0.5 centres, 1 ends it at x."""
        x -= align * text_width(text, size, weight)
        paint = self._skia.Paint(Color=skia_colour(colour), AntiAlias=True)
        self._target.drawString(text, x, baseline, font(size, weight), paint)

    def label(self, label: Label, x: float, baseline: float, colour: Colour) -> None:
        """Draw a fitted label from x on."""
        label.paint(self._target, x, baseline, colour)

    def patch(self, patch: Patch, x: int, y: int) -> None:
        """Paint a patch of an overlay whose canvas begins at (x, y)."""
        skia = self._skia
        image = skia_image(patch.image)
        source = skia.Rect.MakeXYWH(patch.source_x, patch.source_y, patch.width, patch.height)
        target = skia.Rect.MakeXYWH(x + patch.x, y + patch.y, patch.width, patch.height)
        self._target.drawImageRect(image, source, target, skia.SamplingOptions())

    def _paint(self, colour: Colour) -> Any:
        return self._skia.Paint(Color=skia_colour(colour), AntiAlias=False)


def skia_image(image: Image) -> Any:
    """A finished image as Skia's own."""
    skia = load_skia()
    return skia.Image.fromarray(
        image.rgba, colorType=skia.kRGBA_8888_ColorType, alphaType=skia.kPremul_AlphaType
    )


@dataclass(frozen=True)
class Drawing:
    """Something that can be drawn on pixels or on a vector page alike."""

    width: int
    height: int
    ground: Colour
    paint: Callable[[Canvas], None]

    def image(self) -> Image:
        """The drawing in pixels; width and height must be even."""
        skia = load_skia()
        rgba = np.zeros((self.height, self.width, 4), np.uint8)
        # The surface borrows the array, so both live until the drawing is flushed.
        surface = skia.Surface(
            rgba, colorType=skia.kRGBA_8888_ColorType, alphaType=skia.kPremul_AlphaType
        )
        with surface as target:
            target.clear(skia_colour(self.ground))
            self.paint(Canvas(target))
        surface.flushAndSubmit()
        return Image(rgba)
