"""From two captures to the offset between them, and a picture that shows it."""

from __future__ import annotations

import json
from collections import deque
from collections.abc import Generator, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from pacerail.align.align import Alignment, align
from pacerail.align.signature import Signature, Thumbnails
from pacerail.align.sound import Envelope, envelope_of, sound_offset
from pacerail.align.thumbnail import active_area
from pacerail.capture.glimpses import glimpses
from pacerail.capture.open import open_capture
from pacerail.capture.reader import pictures
from pacerail.capture.sound import SAMPLE_RATE_HZ, sound_blocks
from pacerail.capture.stills import rgb_stills
from pacerail.compose.stage import Stage
from pacerail.detect.detector import DetectorSettings, detect
from pacerail.draw.page import check_format, write_drawing
from pacerail.draw.pairs import Pair, column_width, lay_pairs
from pacerail.draw.style import load_style
from pacerail.errors import InputError
from pacerail.files import atomic_output, check_writable
from pacerail.picture import Picture
from pacerail.pipeline.measuring import MeasureSettings, fitting_record
from pacerail.pipeline.watcher import QUIET, Watcher
from pacerail.record import TimingRecord
from pacerail.timebase import format_clock

# Pictures that are looked at for black bars: a dark scene or two do not matter. (Our choice.)
GLIMPSES = 24
# Pairs on the picture that shows a match.
PAIRS = 4


@dataclass(frozen=True, eq=False)
class Impression:
    """What is kept of a capture for aligning it."""

    signature: Signature
    envelope: Envelope | None
    """None where there is no sound or nothing is heard."""


def impression_of(path: Path, watcher: Watcher = QUIET) -> Impression:
    """Decode a capture once and keep what it looks and sounds like, 80 kB per second.

    A record beside the capture that fits it saves looking for flips again.
    Raises InputError when the file is no capture.
    """
    record = fitting_record(path, MeasureSettings())
    with open_capture(path) as capture:
        info = capture.info
        expected = info.stated_pictures
        if info.stated_duration_s is not None:
            expected = round(info.stated_duration_s * info.refresh_hz)
        thumbnails = Thumbnails(active_area(glimpses(path, GLIMPSES)), info.time_base)
        with (
            watcher.task(f"looking at {path.name}", expected) as advance,
            Stage(_each(pictures(capture))) as ahead,
        ):
            seen = thumbnails.watching(ahead, advance)
            settings = DetectorSettings(is_lossy=info.is_lossy)
            found = detect(seen, settings) if record is None else _after(seen, record)
    if len(found.pts) == 0:
        raise InputError(
            f"capture must hold pictures that can be decoded, got none in {path}; repair it"
        )
    first_s = int(found.pts[0]) * info.time_base
    flip_row = found.tear_row + found.unseen_row
    return Impression(
        thumbnails.signature(found.flip_refresh, flip_row, info.height, info.refresh_hz),
        envelope_of(
            ((float(block.start_s - first_s), block.samples) for block in sound_blocks(path)),
            SAMPLE_RATE_HZ,
        )
        if info.has_audio
        else None,
    )


def _after(seen: Iterable[Picture], record: TimingRecord) -> TimingRecord:
    """The record, once all pictures have gone by."""
    deque(seen, maxlen=0)
    return record


def _each(pictures: Iterator[Picture]) -> Generator[Picture, None, None]:
    yield from pictures


def align_captures(
    first: Path, second: Path, *, around_s: float | None = None, watcher: Watcher = QUIET
) -> Alignment | None:
    """Find the content of the first capture in the second; None when there is no match.

    around_s : moment of the first capture near which the content lies.
    Raises InputError when a file is no capture.
    """
    ours, theirs = impression_of(first, watcher), impression_of(second, watcher)
    heard_s = None
    if ours.envelope is not None and theirs.envelope is not None:
        heard_s = sound_offset(ours.envelope, theirs.envelope)
    return align(ours.signature, theirs.signature, around_s=around_s, sound_offset_s=heard_s)


def write_pairs(
    first: Path, second: Path, alignment: Alignment, output: Path, *, overwrite: bool = False
) -> None:
    """Draw pictures of both captures at moments that the alignment says are the same.

    Raises UsageError unless `output` is named .png, .svg or .pdf.
    """
    check_pairs_output(output, overwrite=overwrite)
    length_s = alignment.end_s - alignment.start_s
    moments_s = [alignment.start_s + (k + 0.5) / PAIRS * length_s for k in range(PAIRS)]
    theirs_s = [alignment.moment_in_second(moment) for moment in moments_s]
    pairs = [
        Pair(ours_s, ours, their_s, theirs)
        for ours_s, ours, their_s, theirs in zip(
            moments_s,
            rgb_stills(first, moments_s, column_width(PAIRS)),
            theirs_s,
            rgb_stills(second, theirs_s, column_width(PAIRS)),
            strict=True,
        )
    ]
    drawing = lay_pairs(
        (first.stem, second.stem), pairs, alignment_sentences(alignment), load_style("quay")
    )
    with atomic_output(output, overwrite=overwrite) as part:
        write_drawing(drawing, part)


def check_pairs_output(output: Path, *, overwrite: bool) -> None:
    """Raise UsageError or OutputError if the picture cannot be written there."""
    check_format(output)
    check_writable(output, overwrite=overwrite)


def alignment_sentences(alignment: Alignment) -> tuple[str, ...]:
    """What was found, for people."""
    offset_s = alignment.offset_s
    sentences = [
        f"A moment at t in the first capture is at t {'+' if offset_s >= 0 else '−'} "
        f"{abs(offset_s):.4f} s in the second.",
        f"They agree from {format_clock(alignment.start_s)} to {format_clock(alignment.end_s)} of "
        f"the first; confidence {alignment.confidence:.2f} of 1.",
    ]
    if alignment.drift_ppm is None or alignment.drift_error_ppm is None:
        sentences.append("They overlap for too short a time to tell a drift of their clocks.")
    elif alignment.drifts:
        sentences.append(
            f"Their clocks drift: the offset grows by {alignment.drift_ppm:.0f} ± "
            f"{alignment.drift_error_ppm:.0f} parts in a million; it was taken at "
            f"{format_clock(alignment.at_s)} of the first."
        )
    else:
        sentences.append(
            f"Their clocks run alike: drift {alignment.drift_ppm:.0f} ± "
            f"{alignment.drift_error_ppm:.0f} parts in a million."
        )
    if alignment.sound_offset_s is not None:
        verb = "agrees" if alignment.sound_agrees else "says otherwise"
        heard_s = round(alignment.sound_offset_s, 3) + 0.0
        sentences.append(f"Sound {verb}: {heard_s:+.3f} s.")
    return tuple(sentences)


def alignment_json(alignment: Alignment | None) -> str:
    """One JSON object; all but ``matched`` and ``confidence`` are null without a match."""
    fields: dict[str, object] = dict.fromkeys(
        ("offset_s", "drift_ppm", "drift_error_ppm", "at_s", "from_s", "to_s", "sound_offset_s")
    )
    if alignment is not None:
        fields = {
            "offset_s": round(alignment.offset_s, 6),
            "drift_ppm": _rounded(alignment.drift_ppm, 1),
            "drift_error_ppm": _rounded(alignment.drift_error_ppm, 1),
            "at_s": round(alignment.at_s, 3),
            "from_s": round(alignment.start_s, 3),
            "to_s": round(alignment.end_s, 3),
            "sound_offset_s": _rounded(alignment.sound_offset_s, 4),
        }
    confidence = 0.0 if alignment is None else round(alignment.confidence, 3)
    matched = alignment is not None
    return json.dumps({"matched": matched, "confidence": confidence, **fields}, indent=2)


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits)
