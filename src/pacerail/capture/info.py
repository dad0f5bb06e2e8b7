"""What a capture says about itself before any picture of it is decoded."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path


@dataclass(frozen=True)
class CaptureInfo:
    """Facts from the headers of a capture and the time stamps of its first packets."""

    path: Path
    size_bytes: int
    container_format: str
    """Short name of the container, such as ``mov`` or ``matroska``."""
    codec: str
    is_lossy: bool
    """Whether the codec, in its profile, cannot but lose something."""
    width: int
    height: int
    pixel_format: str
    time_base: Fraction
    """Seconds per tick of a time stamp."""
    refresh_hz: Fraction
    refresh_hz_reason: str
    """One sentence on where the refresh rate comes from."""
    has_time_stamps: bool
    """False where pictures can only be counted: raw streams, and AVI with B-pictures."""
    stated_duration_s: Fraction | None
    """Length of the video that the header states; None where it states none."""
    stated_pictures: int | None
    """Number of pictures that the header states; None where it states none."""
    has_audio: bool
    start_timecode: str | None
    """Timecode of the first picture as written in the file, ``hh:mm:ss:ff``."""
