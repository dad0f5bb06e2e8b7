"""The picture of a capture at one moment, to be looked at closely."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pacerail.capture.fingerprint import fingerprint
from pacerail.capture.open import Capture, open_capture
from pacerail.compose.moment import frame_on_screen
from pacerail.compose.seen import Rgb, seen_picture
from pacerail.draw.still_page import PixelBox
from pacerail.errors import UsageError
from pacerail.extent import refresh_at
from pacerail.pipeline.footage import refresh_finder
from pacerail.pipeline.measuring import prospect_of, record_path
from pacerail.pipeline.watcher import QUIET, Watcher
from pacerail.record import TimingRecord, load_record
from pacerail.region import Region
from pacerail.timebase import ticks_to_refresh


@dataclass(frozen=True, eq=False)
class CloseUp:
    """The picture of a platform at the moment that is looked at."""

    label: str
    picture: Rgb


def close_up(
    capture: Path,
    moment: str,
    label: str | None,
    watcher: Watcher = QUIET,
    *,
    refresh_hz: Fraction | None = None,
    record: TimingRecord | None = None,
) -> CloseUp:
    """The picture on screen at a moment, as written, at its own pixels.

    refresh_hz : overrides the refresh rate found in the file.
    record : of that capture, if it was measured; a moment then names a refresh of it.
    Raises UsageError for a moment outside the capture, InputError for one that cannot be
    shown, HDR included.
    """
    extent = record or prospect_of(capture, refresh_hz)
    refresh = refresh_at(moment, extent)
    with open_capture(capture, refresh_hz=extent.refresh_hz, allow_interlaced=True) as opened:
        finder = _even_grid(opened) if record is None else refresh_finder(record)
        frame = frame_on_screen(opened.container, opened.video, finder, refresh)
        aspect = opened.video.sample_aspect_ratio
    seen = seen_picture(frame)
    for sentence in seen.assumptions:
        watcher.notice(f"{capture.name}: {sentence}")
    if aspect and aspect != 1:
        watcher.notice(
            f"{capture.name}: its pixels are {aspect.numerator}:{aspect.denominator}, not square; "
            "they are shown one for one, so the picture looks "
            f"{'narrower' if aspect > 1 else 'wider'} than a player shows it"
        )
    return CloseUp(label if label is not None else capture.stem, seen.rgb)


def record_beside(capture: Path) -> TimingRecord | None:
    """The record beside a capture, if there is one and it is of that very file.

    Raises InputError when a file that claims to be its record is none.
    """
    beside = record_path(capture)
    record = load_record(beside) if beside.exists() else None
    return record if record and record.source.fingerprint == fingerprint(capture) else None


def eight_bits(picture: Rgb) -> NDArray[np.uint8]:
    """The picture in 8 bits."""
    if picture.dtype == np.uint8:
        return picture.astype(np.uint8, copy=False)
    return np.round(picture / 257).astype(np.uint8)


def box_of(region: Region, picture: Rgb) -> PixelBox:
    """The whole pixels of a region."""
    rows, columns = region.slices(*picture.shape[:2])
    return (
        columns.start,
        rows.start,
        columns.stop - columns.start,
        rows.stop - rows.start,
    )


def check_alike(sides: Sequence[CloseUp]) -> None:
    """Raise UsageError unless there are two pictures of one size."""
    if len(sides) != 2:
        raise UsageError(f"two captures must be named for this, got {len(sides)}; add the second")
    first, second = (side.picture.shape for side in sides)
    if first != second:
        raise UsageError(
            "pictures must be of the same size to be laid over each other, got "
            f"{first[1]}x{first[0]} and {second[1]}x{second[0]}; show them abreast"
        )


def _even_grid(opened: Capture) -> Callable[[int], int]:
    """The refresh of a time stamp, where refreshes follow each other evenly from the first."""
    info, start = opened.info, opened.video.start_time or 0
    return lambda pts: ticks_to_refresh(pts, start, info.time_base, info.refresh_hz)
