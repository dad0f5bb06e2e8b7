"""From the loads of an edit sheet to measured times and what may be said of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from pathlib import Path
from typing import TextIO

import numpy as np

from pacerail.draw.style import load_style
from pacerail.errors import InputError
from pacerail.export.csv_text import write_csv
from pacerail.export.loads_text import (
    LoadRow,
    LoadTable,
    PlatformRow,
    RatioRow,
    loads_as_json,
    loads_as_markdown,
    loads_as_text,
    loads_table,
)
from pacerail.pipeline.joint import JointOutput, JointSide
from pacerail.pipeline.joint_look import JointLook
from pacerail.pipeline.load_points import TimedCapture
from pacerail.pipeline.measuring import MeasureSettings, measure_or_reuse
from pacerail.pipeline.race import Race, write_race
from pacerail.pipeline.watcher import QUIET, Watcher
from pacerail.record import TimingRecord
from pacerail.sheet.loads import Load, LoadTake
from pacerail.sheet.sheet import Sheet, load_sheet
from pacerail.stats.frames import frame_series
from pacerail.stats.loads import LoadTime, load_ratio, summarise_loads
from pacerail.stats.segment import Segment


@dataclass(frozen=True, eq=False)
class MeasuredTake:
    """One take with its place in the capture and the frames in it."""

    take: LoadTake
    path: Path
    record: TimingRecord
    first_refresh: int
    end_refresh: int
    time: LoadTime
    late_frames: int
    longest_frame_ms: float | None
    """None where no frame of known length starts in it."""


@dataclass(frozen=True, eq=False)
class MeasuredLoads:
    """Every load of a sheet with its takes, measured."""

    sheet: Sheet
    takes: dict[str, list[MeasuredTake]]
    """By the name of the load."""

    def tables(self) -> list[LoadTable]:
        """What is written of each load."""
        return [_table(name, self.sheet, takes) for name, takes in self.takes.items()]


def measure_loads(sheet_path: Path, watcher: Watcher = QUIET) -> MeasuredLoads:
    """Measure every load of an edit sheet.

    Raises InputError for a sheet or capture that cannot be used, or a sheet without loads.
    """
    sheet = load_sheet(sheet_path)
    if not sheet.loads:
        raise InputError(
            f"sheet must have loads to time, got none in {sheet_path}; add [loads.NAME] with takes"
        )
    captures: dict[Path, TimedCapture] = {}
    return MeasuredLoads(
        sheet,
        {
            name: measured_takes(name, load, sheet, captures, watcher)
            for name, load in sheet.loads.items()
        },
    )


def write_races(
    measured: MeasuredLoads, folder: Path, watcher: Watcher = QUIET, *, overwrite: bool = False
) -> list[Path]:
    """Write ``NAME-race.mp4`` into a folder for each load, first take against first take.

    In the canvas and style of the sheet; a load of one platform has no race.
    Raises what `race.write_race` does.
    """
    sheet, races = measured.sheet, []
    source = str(sheet.folder / sheet.style) if sheet.style.endswith(".toml") else sheet.style
    with sheet.document.placing(("style",)):
        style = load_style(source)
    for name, takes in measured.takes.items():
        first_takes = {each.take.platform: each for each in reversed(takes)}
        if len(first_takes) < 2:
            continue
        first, second = (_side(first_takes[platform], sheet) for platform in sheet.platforms)
        look = JointLook(style, canvas=sheet.canvas.size, rate=sheet.canvas.rate, audio="none")
        output = JointOutput(folder / f"{name}-race.mp4", overwrite=overwrite)
        races.append((Race((first, second), look), output))
    for race, output in races:
        write_race(race, output, watcher)
    return [output.path for _, output in races]


def _side(measured: MeasuredTake, sheet: Sheet) -> JointSide:
    return JointSide(
        measured.path,
        measured.record,
        sheet.label_of(measured.take.platform),
        measured.first_refresh,
        measured.end_refresh + 1,
    )


def write_loads(tables: Sequence[LoadTable], loads_format: str, stream: TextIO) -> None:
    """Write measured loads as ``text``, ``markdown``, ``json`` or ``csv``."""
    if loads_format == "csv":
        write_csv(loads_table(tables), stream)
        return
    written = {"text": loads_as_text, "markdown": loads_as_markdown, "json": loads_as_json}
    stream.write(written[loads_format](tables))


def measured_takes(
    name: str,
    load: Load,
    sheet: Sheet,
    captures: dict[Path, TimedCapture],
    watcher: Watcher,
) -> list[MeasuredTake]:
    """Every take of a load; captures are measured once and kept in `captures`."""
    measured = []
    for place, take in enumerate(load.takes):
        with sheet.document.placing(("loads", name, "takes", place)):
            platform = sheet.platforms[take.platform]
            path = sheet.folder / platform.captures[take.take - 1]
            if path not in captures:
                settings = MeasureSettings(
                    refresh_hz=platform.refresh_hz,
                    target_fps=platform.target_fps,
                    watch=platform.watch,
                    ignore=platform.ignore,
                )
                record = measure_or_reuse(path, settings=settings, watcher=watcher)
                captures[path] = TimedCapture(path, record, watcher)
            measured.append(_measured(take, captures[path]))
    return measured


def _measured(take: LoadTake, capture: TimedCapture) -> MeasuredTake:
    record = capture.record
    first, end = capture.load(take.start, take.end)
    # A picture that stands for long is the worst stutter of a loading screen, not a pause.
    segment = Segment(record, frame_series(record, still_limit_s=inf), first, end)
    frames_ms = segment.series.frame_time_ms[segment.frames]
    return MeasuredTake(
        take,
        capture.path,
        record,
        first,
        end,
        LoadTime(end - first, record.refresh_hz),
        int(np.count_nonzero(segment.late)),
        float(frames_ms.max()) if len(frames_ms) else None,
    )


def _table(name: str, sheet: Sheet, measured: Sequence[MeasuredTake]) -> LoadTable:
    times = {
        platform: [each.time for each in measured if each.take.platform == platform]
        for platform in sheet.platforms
    }
    times = {platform: each for platform, each in times.items() if each}
    platforms = []
    for platform, each in times.items():
        summary = summarise_loads(each)
        platforms.append(
            PlatformRow(
                sheet.label_of(platform),
                summary.takes,
                float(summary.median_s),
                float(summary.shortest_s),
                float(summary.longest_s),
                summary.disagree,
            )
        )
    ratio = None
    if len(times) == 2:
        (first, ours), (second, theirs) = times.items()
        found = load_ratio(ours, theirs)
        ratio = RatioRow(
            sheet.label_of(first),
            sheet.label_of(second),
            found.ratio,
            found.lower,
            found.upper,
            found.least,
            found.most,
        )
    rows = [
        LoadRow(
            platform=sheet.label_of(each.take.platform),
            take=each.take.take,
            start_s=float(each.first_refresh / each.time.refresh_hz),
            end_s=float(each.end_refresh / each.time.refresh_hz),
            length_s=float(each.time.length_s),
            refreshes=each.time.refreshes,
            end_error_s=float(each.time.end_error_s),
            late_frames=each.late_frames,
            longest_frame_ms=each.longest_frame_ms,
        )
        for each in measured
    ]
    return LoadTable(name, tuple(rows), tuple(platforms), ratio)
