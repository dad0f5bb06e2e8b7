"""Drawing surfaces, colours, noise and type that the scenery is made from.

Scenery is designed on a canvas 1080 units high and drawn at any size.
"""

from __future__ import annotations

import importlib.resources
from collections.abc import Sequence
from functools import cache
from typing import Any

import numpy as np
import skia
from numpy.typing import NDArray

DESIGN_HEIGHT = 1080

Rgba = NDArray[np.uint8]
"""uint8, shape (rows, columns, 4), premultiplied."""


class Board:
    """A transparent array and the canvas that draws into it; they must live together."""

    def __init__(self, width: int, height: int, scale: float = 1.0) -> None:
        self.rgba: Rgba = np.zeros((height, width, 4), np.uint8)
        self._surface = skia.Surface(
            self.rgba, colorType=skia.kRGBA_8888_ColorType, alphaType=skia.kPremul_AlphaType
        )
        self.canvas = self._surface.getCanvas()
        self.canvas.scale(scale, scale)


def image_of(rgba: Rgba, *, opaque: bool = False) -> Any:
    """A Skia image holding a copy of premultiplied samples."""
    rows, columns, _ = rgba.shape
    alpha = skia.kOpaque_AlphaType if opaque else skia.kPremul_AlphaType
    info = skia.ImageInfo.Make(columns, rows, skia.kRGBA_8888_ColorType, alpha)
    samples = np.ascontiguousarray(rgba)
    return skia.Image.MakeRasterCopy(skia.Pixmap(info, samples, columns * 4))


def resized(rgba: Rgba, width: int, height: int) -> Rgba:
    """A smoothly resized copy."""
    board = Board(width, height)
    sampling = skia.SamplingOptions(skia.CubicResampler.Mitchell())
    bounds = skia.Rect.MakeWH(width, height)
    board.canvas.drawImageRect(image_of(rgba), bounds, sampling)
    return board.rgba


def colour(text: str, alpha: float = 1.0) -> int:
    """Skia colour from ``rrggbb``."""
    value = int(text, 16)
    return int(skia.ColorSetARGB(round(alpha * 255), value >> 16, value >> 8 & 255, value & 255))


def mixed(a: str, b: str, share: float) -> str:
    """The colour that lies `share` of the way from a to b."""
    pairs = [(int(a[i : i + 2], 16), int(b[i : i + 2], 16)) for i in (0, 2, 4)]
    return "".join(f"{round(x + (y - x) * share):02x}" for x, y in pairs)


def box(x: float, y: float, width: float, height: float) -> Any:
    """A rectangle."""
    return skia.Rect.MakeXYWH(x, y, width, height)


def fill(text: str, alpha: float = 1.0, **more: Any) -> Any:
    """An antialiased paint of one colour."""
    return skia.Paint(Color=colour(text, alpha), AntiAlias=True, **more)


def stroke(text: str, width: float, alpha: float = 1.0) -> Any:
    """An antialiased pen with round ends."""
    return fill(
        text,
        alpha,
        Style=skia.Paint.kStroke_Style,
        StrokeWidth=width,
        StrokeCap=skia.Paint.kRound_Cap,
    )


def gradient(
    start: tuple[float, float], end: tuple[float, float], stops: Sequence[tuple[float, str, float]]
) -> Any:
    """A paint that runs through (place, colour, alpha) stops from start to end."""
    shader = skia.GradientShader.MakeLinear(
        points=[skia.Point(*start), skia.Point(*end)],
        colors=[colour(text, alpha) for _, text, alpha in stops],
        positions=[place for place, _, _ in stops],
    )
    return skia.Paint(Shader=shader, AntiAlias=True, Dither=True)


def glow(x: float, y: float, radius: float, stops: Sequence[tuple[float, str, float]]) -> Any:
    """A paint that runs through stops from a centre outwards."""
    shader = skia.GradientShader.MakeRadial(
        center=skia.Point(x, y),
        radius=radius,
        colors=[colour(text, alpha) for _, text, alpha in stops],
        positions=[place for place, _, _ in stops],
    )
    return skia.Paint(Shader=shader, AntiAlias=True, Dither=True)


def polygon(points: Sequence[tuple[float, float]], *, closed: bool = True) -> Any:
    """A path through points."""
    path = skia.Path()
    path.addPoly([skia.Point(x, y) for x, y in points], closed)
    return path


def tinted(alpha: NDArray[Any], rgb: tuple[int, int, int]) -> Rgba:
    """One colour under an alpha from 0 to 1, premultiplied."""
    samples: Rgba = np.rint(alpha[..., None] * np.array([*rgb, 255])).astype(np.uint8)
    return samples


def smooth_noise(
    rows: int, columns: int, seed: int, *, slope: float, stretch: float = 1.0
) -> NDArray[np.float32]:
    """Noise of zero mean and unit deviation that repeats seamlessly.

    slope : exponent by which amplitude falls with frequency; 0 is white, 1 to 2 cloudy.
    stretch : how many times longer than high its grains are.
    """
    rng = np.random.default_rng(seed)
    spectrum = np.fft.rfft2(rng.standard_normal((rows, columns)).astype(np.float32))
    v = np.fft.fftfreq(rows)[:, None] * rows
    u = np.fft.rfftfreq(columns)[None, :] * columns * stretch * rows / columns
    frequency = np.hypot(u, v)
    frequency[0, 0] = np.inf
    noise = np.fft.irfft2(spectrum * frequency**-slope, s=(rows, columns))
    unit: NDArray[np.float32] = (noise / noise.std()).astype(np.float32)
    return unit


@cache
def typeface(weight: str = "Medium") -> Any:
    """A bundled face, so that no system font is needed.

    The empty font manager leaves the system's font settings alone, and unread.
    """
    name = f"files/IBMPlexSansCondensed-{weight}.ttf"
    data = (importlib.resources.files("fontpkg_ibm_plex_sans_condensed") / name).read_bytes()
    return skia.FontMgr.New_Custom_Empty().makeFromData(skia.Data.MakeWithCopy(data), 0)


def font(size: float, weight: str = "Medium") -> Any:
    """Unhinted type, so that widths scale exactly."""
    made = skia.Font(typeface(weight), size)
    made.setHinting(skia.FontHinting.kNone)
    made.setSubpixel(True)
    made.setEdging(skia.Font.Edging.kAntiAlias)
    return made
