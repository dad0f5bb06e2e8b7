"""What is left of the overlay on a phone: ``python -m tests.bench.legibility [PICTURE.jpg]``

Each style is drawn at 1080 lines over the busiest shot of the demo, made three times smaller
and coded with 1.5 Mbit/s at 60 pictures a second, as a video platform serves its smallest
sizes. From the decoded pictures are told

- contrast: that of the smaller readings against their plate (WCAG 2.x), on the strongest
  quarter of their strokes, before and after coding;
- digits: how many of all digits shown are still most like themselves: the panel drawn with
  any other digit in that place lies further from the decoded one.

The decoded pictures go onto one sheet.
"""

from __future__ import annotations

import argparse
import functools
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
from numpy.typing import NDArray

from demo.scene import scene_source
from pacerail.compose.alpha_frames import composite
from pacerail.draw.canvas import Drawing
from pacerail.draw.colour import Colour, contrast
from pacerail.draw.library import load_skia
from pacerail.draw.overlay import Overlay
from pacerail.draw.reading import Reading
from pacerail.draw.readout import Readout
from pacerail.draw.scale import design_unit
from pacerail.draw.style import load_style, style_names
from tests.draw.made_tracks import eventful_spans, make_track

Rgb = NDArray[np.uint8]
Levels = NDArray[np.float64]

SHRINK = 3
RATE = 60
BIT_RATE = 1_500_000
START_S = Fraction("5.2")
"""The dash over the roofs begins; it lasts 108 refreshes."""
REFRESHES = 100
FIRST = 80
"""Refresh of the track at the first picture: a stall comes up to the needle and passes it."""
LOOKED_AT = range(40, REFRESHES, 10)
"""Numbers change with each of these."""
SHOWN = 90
"""Picture on the sheet."""
LUMA = np.array([0.2126, 0.7152, 0.0722])
"""BT.709."""


def main() -> None:
    """Print a line for each style; write the sheet if it is named."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("sheet", nargs="?", type=Path, metavar="PICTURE.jpg")
    sheet = parser.parse_args().sheet
    print(f"640x360, coded with {BIT_RATE / 1e6:g} Mbit/s")
    print("style    contrast drawn  coded, least  digits told right  Mbit/s")
    shown = {}
    for style in style_names():
        case = Case(style)
        drawn = list(case.pictures())
        coded, megabits = through_codec(drawn)
        shown[style] = coded[SHOWN]
        before = [case.looked_at(drawn[number], number) for number in LOOKED_AT]
        after = [case.looked_at(coded[number], number) for number in LOOKED_AT]
        right, digits = (sum(look.digits[n] for look in after) for n in (0, 1))
        print(
            f"{style:7}  {min(look.contrast for look in before):14.2f}  "
            f"{min(look.contrast for look in after):12.2f}  {right:8} of {digits:<6}  "
            f"{megabits:6.2f}"
        )
    if sheet:
        save_jpeg(laid_out(shown), sheet)


@dataclass(frozen=True)
class Look:
    """What one picture still says."""

    contrast: float
    digits: tuple[int, int]
    """Told right, of how many."""


class Case:
    """One style over the shot, at a third of the size it is drawn at."""

    def __init__(self, style: str) -> None:
        size = (1080, 1920) if style == "mast" else (1920, 1080)
        self._style = load_style(style)
        track = make_track(eventful_spans(), "Merle")
        self._overlay = Overlay(
            [track], self._style, *size, first_refresh=0, end_refresh=track.series.refreshes
        )
        self._readout = Readout(track, [track], self._style, design_unit(*size))
        self._small = size[0] // SHRINK, size[1] // SHRINK

    def pictures(self) -> Iterator[Rgb]:
        """The shot with the overlay on it."""
        width, height = self._small
        for number in range(REFRESHES):
            patches = self._overlay.patches(FIRST + number)
            layer = composite(patches, 0, 0, width * SHRINK, height * SHRINK)
            yield over(shrunk(layer), footage(*self._small, number))

    def looked_at(self, picture: Rgb, number: int) -> Look:
        """Contrast and digits of the readout in a picture, whether coded or not."""
        panel = self._overlay.layout.panels[0].box
        rows = slice(panel.y // SHRINK, panel.bottom // SHRINK)
        columns = slice(panel.x // SHRINK, panel.right // SHRINK)
        found = picture[rows, columns] @ LUMA
        ground = footage(*self._small, number)[rows, columns]
        reading = self._readout.reader.read((FIRST + number) / RATE)
        nothing = replace(reading, frame_rate="", details=("",) * len(reading.details))
        blank = self._panel(nothing, ground)
        small = self._panel(replace(reading, frame_rate=""), ground)
        cover = np.abs(small - blank)
        strokes = cover >= np.quantile(cover[cover > 0.2 * cover.max()], 0.75)
        ratio = contrast(
            _grey(picture[rows, columns][strokes]), _grey(picture[rows, columns][cover < 1])
        )
        truth = float(np.square(self._panel(reading, ground) - found).sum())
        rivals = [
            min(float(np.square(self._panel(other, ground) - found).sum()) for other in others)
            for others in changed_digits(reading)
        ]
        return Look(ratio, (sum(truth < rival for rival in rivals), len(rivals)))

    def _panel(self, reading: Reading, ground: Rgb) -> Levels:
        """Luma of the readout's panel with a reading, uncoded, cut to the size of its ground."""
        panel = self._overlay.layout.panels[0]
        image = Drawing(
            panel.box.width,
            panel.box.height,
            self._style.plate_colour,
            lambda canvas: self._readout.draw(canvas, panel.content, reading),
        ).image()
        # The panel lies on the canvas at any even pixel, so its first cells may be cut.
        x, y = panel.box.x % SHRINK, panel.box.y % SHRINK
        padded = np.pad(image.rgba, ((y, SHRINK), (x, SHRINK), (0, 0)))
        layer = shrunk(padded)[: ground.shape[0], : ground.shape[1]]
        luma: Levels = over(layer, ground) @ LUMA
        return luma


@functools.cache
def footage(width: int, height: int, number: int) -> Rgb:
    """What the overlay lies on, the same for all styles of one size."""
    rgb: Rgb = scene_source(width, height)(START_S + Fraction(number, RATE))[..., :3]
    return rgb


def changed_digits(reading: Reading) -> Iterator[list[Reading]]:
    """For each digit of a reading, the readings with another one in its place."""
    texts = (reading.frame_rate, *reading.details)
    for number, text in enumerate(texts):
        for place, digit in enumerate(text):
            if not digit.isdigit():
                continue
            others = []
            for other in "0123456789".replace(digit, ""):
                changed = text[:place] + other + text[place + 1 :]
                now = (*texts[:number], changed, *texts[number + 1 :])
                others.append(replace(reading, frame_rate=now[0], details=now[1:]))
            yield others


def shrunk(rgba: Rgb) -> Levels:
    """Each pixel the mean of SHRINK x SHRINK."""
    rows, columns = (size // SHRINK for size in rgba.shape[:2])
    cells = rgba[: rows * SHRINK, : columns * SHRINK].reshape(rows, SHRINK, columns, SHRINK, 4)
    means: Levels = cells.mean(axis=(1, 3))
    return means


def over(layer: Levels, ground: Rgb) -> Rgb:
    """A premultiplied layer on a picture."""
    mixed: Rgb = np.rint(layer[..., :3] + ground * (1 - layer[..., 3:] / 255)).astype(np.uint8)
    return mixed


def through_codec(pictures: Sequence[Rgb]) -> tuple[list[Rgb], float]:
    """Pictures coded as H.264 and decoded again, and the megabits a second it took."""
    store = io.BytesIO()
    with av.open(store, "w", format="mp4") as output:
        bits = str(BIT_RATE)
        options = {"preset": "medium", "maxrate": bits, "bufsize": str(2 * BIT_RATE)}
        stream: Any = output.add_stream("libx264", rate=RATE, options=options)
        stream.height, stream.width = pictures[0].shape[:2]
        stream.pix_fmt, stream.bit_rate = "yuv420p", BIT_RATE
        for rgb in pictures:
            frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(rgb), "rgb24")
            output.mux(stream.encode(frame.reformat(format="yuv420p", dst_colorspace="ITU709")))
        output.mux(stream.encode(None))
    megabits = len(store.getvalue()) * 8e-6 * RATE / len(pictures)
    store.seek(0)
    with av.open(store, "r") as coded:
        frames = [
            frame.to_ndarray(format="rgb24", src_colorspace="ITU709").astype(np.uint8)
            for frame in coded.decode(video=0)
        ]
    return frames, megabits


def _grey(pixels: Rgb) -> Colour:
    return Colour(*(float(channel) for channel in pixels.mean(axis=0)))


def laid_out(pictures: dict[str, Rgb], gap: int = 8) -> Rgb:
    """Upright pictures at the right, the others two abreast."""
    lying = [rgb for rgb in pictures.values() if rgb.shape[0] < rgb.shape[1]]
    upright = [rgb for rgb in pictures.values() if rgb.shape[0] >= rgb.shape[1]]
    rows, columns = lying[0].shape[:2]
    height = -(-len(lying) // 2) * (rows + gap) - gap
    width = 2 * (columns + gap) + sum(rgb.shape[1] + gap for rgb in upright) - gap
    sheet = np.full((height, width, 3), 255, np.uint8)
    for number, rgb in enumerate(lying):
        y, x = number // 2 * (rows + gap), number % 2 * (columns + gap)
        sheet[y : y + rows, x : x + columns] = rgb
    x = 2 * (columns + gap)
    for rgb in upright:
        y = (height - rgb.shape[0]) // 2
        sheet[y : y + rgb.shape[0], x : x + rgb.shape[1]] = rgb
        x += rgb.shape[1] + gap
    return sheet


def save_jpeg(rgb: Rgb, path: Path) -> None:
    """Write a picture for the README."""
    skia = load_skia()
    rgba = np.full((*rgb.shape[:2], 4), 255, np.uint8)
    rgba[..., :3] = rgb
    skia.Image.fromarray(rgba, colorType=skia.kRGBA_8888_ColorType).save(str(path), skia.kJPEG, 80)


if __name__ == "__main__":
    main()
