"""From a capture to its timing record, or to the record that is already there."""

from __future__ import annotations

import sys
from collections.abc import Callable, Generator, Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from pacerail.capture.container import check_file
from pacerail.capture.fingerprint import fingerprint
from pacerail.capture.info import CaptureInfo
from pacerail.capture.open import open_capture
from pacerail.capture.reader import pictures
from pacerail.compose.stage import Stage
from pacerail.detect.version import DETECTOR_VERSION
from pacerail.errors import InputError, OutputError, UsageError
from pacerail.extent import Prospect
from pacerail.files import check_writable
from pacerail.picture import Picture
from pacerail.pipeline.watcher import QUIET, Watcher
from pacerail.record import Source, TimingRecord, load_record
from pacerail.region import Region
from pacerail.scanout import scan_out_of_height

RECORD_SUFFIX = ".timing.npz"


@dataclass(frozen=True)
class MeasureSettings:
    """How to read a capture and what to look at in it.

    Raises UsageError where a region is ignored that is all there is to look at.
    """

    refresh_hz: Fraction | None = None
    """Overrides the refresh rate found in the file."""
    target_fps: Fraction | None = None
    """Frame rate the program aims at; None leaves it to be inferred."""
    watch: Region | None = None
    """The only part of the picture to look at; None for all of it."""
    ignore: tuple[Region, ...] = ()
    """Parts to leave out."""
    gaps_are_held: bool = False
    """A refresh without a picture repeats the one before instead of being lost."""
    allow_interlaced: bool = False
    hwaccel: str | None = None
    """Hardware decoder to try."""

    def __post_init__(self) -> None:
        watched = self.watch or Region(0, 0, 1, 1)
        for region in self.ignore:
            if region.covers(watched):
                raise UsageError(
                    f"ignored region must leave something to look at, got {region}; "
                    "make it smaller or leave it out"
                )


DEFAULTS = MeasureSettings()


def record_path(capture: Path) -> Path:
    """Where the record of a capture lies unless told otherwise: ``NAME.timing.npz`` beside it."""
    return capture.with_name(capture.stem + RECORD_SUFFIX)


def measure(
    path: Path, settings: MeasureSettings = DEFAULTS, watcher: Watcher = QUIET
) -> TimingRecord:
    """Decode a capture once and keep everything that its pictures say about timing.

    What reading met is told to `watcher` and kept in the record's notes.
    Raises InputError when the file is no capture that can be measured.
    """
    # Loaded here, as those who reuse a record have no use for them.
    from pacerail.detect.detector import MARGIN_LIMIT, DetectorSettings, detect
    from pacerail.moments.passing import PassingCuts

    with open_capture(
        path,
        refresh_hz=settings.refresh_hz,
        allow_interlaced=settings.allow_interlaced,
        hwaccel=settings.hwaccel,
    ) as capture:
        info = capture.info
        reader = pictures(capture, gaps_are_held=settings.gaps_are_held)
        cuts = PassingCuts(info.refresh_hz, settings.watch, settings.ignore)
        with (
            watcher.task(f"measuring {path.name}", _expected_pictures(info)) as advance,
            Stage(_each(reader)) as ahead,
        ):
            detection = detect(
                _counted(cuts.watched(ahead), advance),
                DetectorSettings(settings.watch, settings.ignore, is_lossy=info.is_lossy),
            )
    if len(detection.pts) == 0:
        raise InputError(
            f"capture must hold pictures that can be decoded, got none in {path}; repair it"
        )
    notes = (*capture.notes, *reader.report.sentences(), *detection.notes)
    for sentence in notes:
        watcher.notice(sentence)
    return TimingRecord(
        source=Source(
            name=path.name,
            size_bytes=info.size_bytes,
            fingerprint=fingerprint(path),
            codec=info.codec,
            picture_width=info.width,
            picture_height=info.height,
        ),
        refresh_hz=info.refresh_hz,
        time_base=info.time_base,
        scan_out=scan_out_of_height(info.height),
        pts=detection.pts,
        verdict=detection.verdict,
        score=detection.score,
        margin=detection.margin,
        margin_limit=MARGIN_LIMIT,
        flip_refresh=detection.flip_refresh,
        tear_row=detection.tear_row,
        unseen_row=detection.unseen_row,
        cut_refresh=cuts.refreshes,
        target_fps=settings.target_fps,
        settings=_settings_kept(settings),
        notes=(f"refresh rate: {info.refresh_hz_reason}", *notes),
        start_timecode=info.start_timecode,
    )


def measure_to_file(
    path: Path,
    output: Path | None = None,
    settings: MeasureSettings = DEFAULTS,
    watcher: Watcher = QUIET,
    *,
    overwrite: bool = False,
) -> TimingRecord:
    """Measure a capture and save the record, beside it if no `output` is given.

    Raises InputError for the capture, OutputError or UsageError for the output, the latter
    before any work is done.
    """
    check_file(path)
    output = output or record_path(path)
    check_writable(output, overwrite=overwrite)
    record = measure(path, settings, watcher)
    record.save(output, overwrite=overwrite)
    return record


def measure_or_reuse(
    path: Path,
    given: Path | None = None,
    settings: MeasureSettings = DEFAULTS,
    watcher: Watcher = QUIET,
) -> TimingRecord:
    """The record `given`, the one beside the capture, or a fresh one that is left beside it.

    Raises InputError when the given record is not of this capture.
    """
    check_file(path)
    if given is not None:
        record = load_record(given)
        if not _is_of(record, path):
            raise InputError(
                f"record must be of the capture {path}, got one of {record.source.name} in "
                f"{given}; measure this capture, or name its own record"
            )
        return _aimed(record, settings)
    beside = record_path(path)
    may_replace = False
    if beside.exists():
        record = load_record(beside)
        if _is_of(record, path):
            return _aimed(record, settings)
        may_replace = record.source.name == path.name
        watcher.notice(f"{beside.name} is of another capture or an older one; measuring again")
    record = measure(path, settings, watcher)
    _keep(record, beside, may_replace, watcher)
    return record


def fitting_record(path: Path, settings: MeasureSettings) -> TimingRecord | None:
    """The record beside a capture if measuring now, in this way, would give the same.

    Raises InputError when a file that claims to be its record is none.
    """
    beside = record_path(path)
    if not beside.exists():
        return None
    record = load_record(beside)
    refresh_hz = settings.refresh_hz or prospect_of(path).refresh_hz
    is_alike = (
        _is_of(record, path)
        and record.settings == _settings_kept(settings)
        and record.refresh_hz == refresh_hz
    )
    return record if is_alike else None


def prospect_of(path: Path, refresh_hz: Fraction | None = None) -> Prospect:
    """What to expect of a capture. Raises InputError when the file is none.

    refresh_hz : overrides the refresh rate found in the file.
    """
    with open_capture(path, refresh_hz=refresh_hz, allow_interlaced=True) as capture:
        info = capture.info
        return Prospect(
            path.name,
            info.refresh_hz,
            _expected_pictures(info) or sys.maxsize,
            info.start_timecode,
        )


def _is_of(record: TimingRecord, path: Path) -> bool:
    """True when the capture still is the file that the record was made from."""
    return record.source.fingerprint == fingerprint(path)


def _settings_kept(settings: MeasureSettings) -> dict[str, object]:
    """What a record says of how it was made."""
    return {
        "detector": DETECTOR_VERSION,
        "watch": None if settings.watch is None else str(settings.watch),
        "ignore": [str(region) for region in settings.ignore],
        "gaps": "held" if settings.gaps_are_held else "fault",
    }


def _aimed(record: TimingRecord, settings: MeasureSettings) -> TimingRecord:
    """The record with the target that this request names, if it names one."""
    if settings.target_fps is None:
        return record
    return replace(record, target_fps=settings.target_fps)


def _keep(record: TimingRecord, beside: Path, may_replace: bool, watcher: Watcher) -> None:
    """Leave a record beside its capture if that takes nothing away from anyone."""
    if beside.exists() and not may_replace:
        watcher.notice(f"the new record is not kept: {beside.name} is another capture's")
        return
    try:
        record.save(beside, overwrite=may_replace)
    except OutputError as error:
        watcher.notice(f"the new record is not kept: {error}")


def _expected_pictures(info: CaptureInfo) -> int | None:
    if info.stated_duration_s is not None:
        return round(info.stated_duration_s * info.refresh_hz)
    return info.stated_pictures


def _each(pictures: Iterator[Picture]) -> Generator[Picture, None, None]:
    yield from pictures


def _counted(pictures: Iterable[Picture], advance: Callable[[int], None]) -> Iterator[Picture]:
    for picture in pictures:
        yield picture
        advance(picture.refresh + 1)
