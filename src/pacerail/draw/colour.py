"""Colours of a style, how they mix, and whether text on them can be read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

# Web Content Accessibility Guidelines 2.x, success criterion 1.4.3: least contrast of text.
LEAST_TEXT_CONTRAST = 4.5


@dataclass(frozen=True)
class Colour:
    """Straight (not premultiplied) sRGB, channels 0 to 255 as floats, opacity 0 to 1."""

    red: float
    green: float
    blue: float
    opacity: float = 1.0

    @classmethod
    def parse(cls, text: str) -> Self:
        """Colour from ``#rrggbb``. Raises ValueError on anything else."""
        if len(text) != 7 or text[0] != "#":
            raise ValueError(text)
        return cls(*(float(int(text[i : i + 2], 16)) for i in (1, 3, 5)))

    def faded(self, share: float) -> Colour:
        """The same colour at `share` of its opacity."""
        return Colour(self.red, self.green, self.blue, self.opacity * share)

    def over(self, ground: Colour) -> Colour:
        """This colour painted on an opaque ground, mixed in code values as blending does."""
        a = self.opacity
        return Colour(
            self.red * a + ground.red * (1 - a),
            self.green * a + ground.green * (1 - a),
            self.blue * a + ground.blue * (1 - a),
        )

    @property
    def luminance(self) -> float:
        """Relative luminance of the opaque colour, 0 to 1 (WCAG 2.x, sRGB threshold)."""
        weights = (0.2126, 0.7152, 0.0722)
        channels = (self.red, self.green, self.blue)
        return sum(w * _linear(c / 255) for w, c in zip(weights, channels, strict=True))


BLACK, GREY, WHITE = Colour(0, 0, 0), Colour(128, 128, 128), Colour(255, 255, 255)
FOOTAGE_EXTREMES = (BLACK, GREY, WHITE)
"""Grounds on which a plate must keep its text legible: whatever the footage, it lies between."""


def contrast(first: Colour, second: Colour) -> float:
    """Contrast ratio of two opaque colours, 1 to 21 (WCAG 2.x)."""
    low, high = sorted((first.luminance, second.luminance))
    return (high + 0.05) / (low + 0.05)


def least_contrast(ink: Colour, *layers: Colour) -> float:
    """Least contrast of ink on layers (lowest first) over any of the footage extremes."""
    worst = 21.0
    for footage in FOOTAGE_EXTREMES:
        ground = footage
        for layer in layers:
            ground = layer.over(ground)
        worst = min(worst, contrast(ink.over(ground), ground))
    return worst


def _linear(value: float) -> float:
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4
