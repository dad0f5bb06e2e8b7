"""A capture that was measured, opened once more to be drawn on."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np

from pacerail.capture.open import Capture, open_capture
from pacerail.capture.reader import pictures
from pacerail.compose.footage import footage_of, seen_canvas
from pacerail.errors import InputError
from pacerail.record import TimingRecord


def open_footage(capture: Path, record: TimingRecord) -> Capture:
    """The capture; how to read it was settled when it was measured.

    Raises InputError when its pictures have no time stamps to tell their refresh by.
    """
    footage = open_capture(capture, refresh_hz=record.refresh_hz, allow_interlaced=True)
    if footage.info.has_time_stamps:
        return footage
    footage.close()
    raise InputError(
        f"footage must have time stamps to draw on, got none in {capture}; "
        "put the stream into an MP4 or Matroska file first"
    )


def canvas_of(capture: Path, record: TimingRecord) -> tuple[int, int]:
    """Width and height of the picture as a player shows it, in square pixels.

    Raises InputError when not one picture of the capture can be decoded.
    """
    with open_capture(capture, refresh_hz=record.refresh_hz, allow_interlaced=True) as footage:
        picture = next(pictures(footage), None)
        if picture is not None:
            return seen_canvas(footage_of(picture.owner), footage.video)
    raise InputError(
        f"footage must hold pictures that can be decoded, got none in {capture}; repair it"
    )


def refresh_finder(record: TimingRecord) -> Callable[[int], int]:
    """The refresh that shows a picture, by its time stamp; doubled ones share a refresh."""
    pts = record.pts
    return lambda tick: max(int(np.searchsorted(pts, tick, side="right")) - 1, 0)
