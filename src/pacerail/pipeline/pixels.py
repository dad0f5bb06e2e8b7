"""From a capture to the size that its pictures were drawn at, told in text, JSON and a picture."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pacerail.align.thumbnail import active_area
from pacerail.capture.excerpt import Glance, glances
from pacerail.capture.glimpses import glimpses
from pacerail.capture.open import open_capture
from pacerail.draw.evidence import Evidence, WindowSize, lay_evidence
from pacerail.draw.page import check_format, write_drawing
from pacerail.errors import InputError
from pacerail.files import atomic_output, check_writable
from pacerail.pipeline.graphic import Graphic
from pacerail.pipeline.watcher import QUIET, Watcher
from pacerail.plural import plural
from pacerail.region import Region
from pacerail.sharpness.candidates import agreeing_strength
from pacerail.sharpness.estimate import Estimate, estimate
from pacerail.sharpness.lines import open_frequencies
from pacerail.sharpness.look import Look, look_at
from pacerail.sharpness.series import SizeSeries, Window, size_series
from pacerail.sharpness.spectrum import Spectrum

# A program that changes its resolution does so a few times a second at most; half a second
# holds enough different pictures to see a size in each. (Our choice.)
WINDOW_S = 0.5
# Longer segments get longer windows, so that a picture of them stays readable.
MOST_WINDOWS = 60
# Further pictures of one window look alike and add little. (Bench: 8 find what 16 do.)
PICTURES_PER_WINDOW = 8
# Pictures that are looked at for black bars.
GLIMPSES = 24
# Below this mean difference, in code values of 8 bits, a picture is the one before again.
# (Repeated pictures of open clips coded by x264 at crf 18 to 28 differ by 0.39 at most on
# average, new ones by 0.48 at least.)
SAME_PICTURE = 0.45
# Every so many-th sample of a picture is enough to tell that.
STRIDE = 4


@dataclass(frozen=True, eq=False)
class PixelCount:
    """What was found about a segment of a capture."""

    start_s: float
    end_s: float
    shown_width: int
    shown_height: int
    regions: tuple[Region, ...]
    series: SizeSeries

    @property
    def estimate(self) -> Estimate:
        """Of the segment as a whole."""
        return self.series.estimate


def count_pixels(
    path: Path,
    start_s: float,
    end_s: float,
    regions: Sequence[Region] = (),
    watcher: Watcher = QUIET,
) -> PixelCount:
    """Estimate the native size of what a capture shows in [start_s, end_s), in seconds.

    regions : the parts to look at; none means all that lies inside black bars.
    Raises InputError when the file is no capture, or shows nothing there.
    """
    with open_capture(path) as capture:
        width, height = capture.info.width, capture.info.height
    looked_at = tuple(regions) or (_inside_bars(path),)
    count = min(max(math.ceil(round((end_s - start_s) / WINDOW_S, 6)), 1), MOST_WINDOWS)
    length_s = (end_s - start_s) / count
    windows: list[Window] = []
    with watcher.task(f"looking at {path.name}", count) as advance:
        for number, look in _looks(path, start_s, end_s, length_s, looked_at):
            first_s = start_s + number * length_s
            windows.append(Window(first_s, min(first_s + length_s, end_s), look, estimate(look)))
            advance(number + 1)
    if not windows:
        raise InputError(
            f"segment must hold a picture of the size the capture starts with, got none from "
            f"{start_s:.3f} s to {end_s:.3f} s of {path}; choose another"
        )
    return PixelCount(start_s, end_s, width, height, looked_at, size_series(windows))


def _inside_bars(path: Path) -> Region:
    area = active_area(glimpses(path, GLIMPSES))
    return Region(area.left, area.top, area.right - area.left, area.bottom - area.top)


def _looks(
    path: Path, start_s: float, end_s: float, length_s: float, regions: tuple[Region, ...]
) -> Iterator[tuple[int, Look]]:
    """What each window shows, with its number; windows without a new picture are left out."""
    number, look = 0, None
    for glance in _different(glances(path, start_s, end_s), start_s, length_s):
        window = _part(glance, start_s, length_s)
        if look is not None and window != number:
            yield number, look
            look = None
        number = window
        seen = look_at(glance.luma, glance.bit_depth, regions)
        look = seen if look is None else look + seen
    if look is not None:
        yield number, look


def _different(pictures: Iterator[Glance], start_s: float, length_s: float) -> Iterator[Glance]:
    """At most `PICTURES_PER_WINDOW` evenly spread pictures per window, none of them twice."""
    slot_s = length_s / PICTURES_PER_WINDOW
    last_slot, last, shape = -1, None, None
    for glance in pictures:
        slot = _part(glance, start_s, slot_s)
        shape = shape or glance.luma.shape
        if slot == last_slot or glance.luma.shape != shape:
            continue
        sample = _sample(glance)
        if last is not None and float(np.abs(sample - last).mean()) < SAME_PICTURE:
            continue
        last_slot, last = slot, sample
        yield glance


def _part(glance: Glance, start_s: float, length_s: float) -> int:
    """Which of the parts of that length a picture appears in; time stamps may be rounded."""
    return int(max(glance.start_s - start_s, 0.0) / length_s + 1e-3)


def _sample(glance: Glance) -> NDArray[np.float32]:
    few = glance.luma[::STRIDE, ::STRIDE].astype(np.float32)
    return few * np.float32(2.0 ** (8 - glance.bit_depth))


def pixel_sentences(count: PixelCount) -> tuple[str, ...]:
    """What was found, for people."""
    found, shown = count.estimate, f"{count.shown_width} x {count.shown_height}"
    size = f"{found.width} x {found.height}"
    seen = plural(found.pictures, "picture")
    if found.status == "upscaled":
        sentences = [
            f"Drawn at {size} and shown at {shown}: confidence {found.confidence:.2f} of 1, "
            f"from {seen}."
        ]
    elif found.status == "native":
        sentences = [
            f"Drawn at the size shown, {shown}, or at 94 % of it at least: hard steps from one "
            f"sample to the next all over {seen}."
        ]
    else:
        sentences = [
            f"Cannot tell at what size this was drawn, from {seen}: there is no trace of "
            "enlarging, which smoothed edges, sharpening, lossy coding and an exact factor of "
            "two hide."
        ]
    if count.series.changes:
        heights = ", ".join(map(str, count.series.heights))
        sentences.append(f"The resolution changes: heights of {heights} lines.")
    others = [
        f"{other.width} x {other.height} ({other.because})"
        for other in found.candidates
        if (other.width, other.height) != (found.width, found.height)
    ]
    if others:
        sentences.append(f"Other sizes that leave this evidence: {'; '.join(others)}.")
    if found.status == "upscaled":
        sentences.append(
            "Taken for granted: at least a quarter of the size shown and no more than all of it, "
            "and both directions enlarged alike unless one shows otherwise."
        )
    return tuple(sentences)


def pixel_text(count: PixelCount) -> str:
    """The sentences and, where there are several windows, a line for each."""
    lines = list(pixel_sentences(count))
    if len(count.series.windows) > 1:
        lines.append("")
        lines += [
            f"{window.start_s:9.3f} s  {_window_text(window.estimate)}"
            for window in count.series.windows
        ]
    return "\n".join(lines)


def _window_text(found: Estimate) -> str:
    if found.status == "unknown":
        return "cannot tell"
    return f"{found.width} x {found.height}  {found.status}, confidence {found.confidence:.2f}"


def pixel_json(count: PixelCount) -> str:
    """One JSON object; width and height are null where the size cannot be told."""
    found = count.estimate
    return json.dumps(
        {
            **_told(found),
            "candidates": [
                {
                    "width": other.width,
                    "height": other.height,
                    "confidence": other.confidence,
                    "because": other.because,
                }
                for other in found.candidates
            ],
            "shown_width": count.shown_width,
            "shown_height": count.shown_height,
            "from_s": round(count.start_s, 3),
            "to_s": round(count.end_s, 3),
            "pictures": found.pictures,
            "changes": count.series.changes,
            "series": [
                {
                    "from_s": round(window.start_s, 3),
                    "to_s": round(window.end_s, 3),
                    **_told(window.estimate),
                }
                for window in count.series.windows
            ],
        },
        indent=2,
    )


def _told(found: Estimate) -> dict[str, object]:
    return {
        "status": found.status,
        "width": found.width,
        "height": found.height,
        "confidence": round(found.confidence, 3),
    }


def _shares(axis: Spectrum, native: int | None, length: int) -> NDArray[np.float64]:
    """The share of the length that each frequency stands for, on the side that was found."""
    below_half = native is not None and native < length / 2
    return axis.frequency if below_half else 1 - axis.frequency


def check_evidence_output(output: Path, *, overwrite: bool) -> None:
    """Raise UsageError or OutputError if the picture cannot be written there."""
    check_format(output)
    check_writable(output, overwrite=overwrite)


def write_evidence(
    count: PixelCount,
    graphic: Graphic,
    output: Path,
    *,
    overwrite: bool = False,
) -> None:
    """Draw the evidence.

    Raises UsageError unless `output` is named .png, .svg or .pdf.
    """
    check_evidence_output(output, overwrite=overwrite)
    found = count.estimate
    evidence = [
        Evidence(
            unit,
            length * _shares(axis, native, length),
            axis.strength_in_phase,
            open_frequencies(axis),
            native if native != length else None,
        )
        for unit, length, axis, native in (
            ("native height, lines", count.shown_height, found.rows, found.height),
            ("native width, columns", count.shown_width, found.columns, found.width),
        )
    ]
    windows = [
        WindowSize(window.start_s, window.end_s, window.estimate.height)
        for window in count.series.windows
    ]
    drawing = lay_evidence(
        graphic.label,
        pixel_sentences(count),
        evidence,
        agreeing_strength(found.rows, found.columns) / 2,
        windows if len(windows) > 1 else [],
        count.shown_height,
        graphic.style,
    )
    with atomic_output(output, overwrite=overwrite) as part:
        write_drawing(drawing, part)
