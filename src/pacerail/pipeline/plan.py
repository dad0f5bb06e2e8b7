"""From an edit sheet to the jobs that make all of it: nothing is measured or written here."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from pacerail.capture.fingerprint import fingerprint
from pacerail.draw.style import Style, load_style
from pacerail.errors import InputError, UsageError
from pacerail.extent import Prospect, refresh_at
from pacerail.pipeline.ingredients import Stretch, Take
from pacerail.pipeline.job import DRAFTS, Job, kept_name, key_of
from pacerail.pipeline.output_jobs import Scene, jobs_of
from pacerail.pipeline.race_work import RaceSide, RaceWork
from pacerail.pipeline.still_jobs import still_jobs
from pacerail.pipeline.still_work import StillSide
from pacerail.pipeline.stretches import stretches_of
from pacerail.pipeline.works import AlignWork, MeasureWork, Rolling
from pacerail.sheet.loads import LoadRace
from pacerail.sheet.outputs import Output
from pacerail.sheet.sheet import Sheet
from pacerail.sheet.stills import Still
from pacerail.size import draft_canvas

LOADS = "loads/"
"""Where races of loads lie in the folder of a build."""

ProspectOf = Callable[[Take], Prospect]


@dataclass(frozen=True)
class Plan:
    """All jobs of a build, in an order in which they can be done."""

    folder: Path
    jobs: tuple[Job, ...]

    @property
    def outputs(self) -> set[str]:
        """Main output of each job, relative to the folder."""
        return {job.output for job in self.jobs}


def plan_build(
    sheet: Sheet,
    names: Sequence[str],
    prospect_of: ProspectOf,
    *,
    draft: bool = False,
    folder: Path | None = None,
) -> Plan:
    """The jobs that make the segments of those names, or all of the sheet if none is named.

    prospect_of : looks at the header of a capture.
    draft : at a quarter of the pixels, in a folder of its own.
    folder : in place of the one that the sheet names.
    Raises UsageError for a name that the sheet does not have, InputError with file, line
    and key for what the captures or styles do not allow.
    """
    for name in names:
        if name not in sheet.segments:
            raise UsageError(
                f"segment must be one of {', '.join(sheet.segments)}, got {name}; "
                "name one that the sheet has"
            )
    planner = _Planner(sheet, prospect_of, draft)
    made: dict[str, Job] = {}
    for name in sheet.segments:
        if not names or name in names:
            for job in planner.segment(name):
                if job.output in made and made[job.output] != job:
                    raise InputError(
                        f"{sheet.document.place(('segments', name))} must make every file once, "
                        f'got {job.output} twice; give one of the outputs a name = "..."'
                    )
                made[job.output] = job
    for name in () if names else sheet.stills:
        made |= {job.output: job for job in planner.still(name)}
    for name in () if names else sheet.loads:
        made |= {job.output: job for job in planner.race(name)}
    return Plan(folder or sheet.folder / sheet.output, tuple(made.values()))


class _Planner:
    """Walks through a sheet; every capture and style is looked at once."""

    def __init__(self, sheet: Sheet, prospect_of: ProspectOf, draft: bool) -> None:
        self._sheet = sheet
        self._prospect_of = prospect_of
        self._draft = draft
        self._takes: dict[tuple[str, int], Take] = {}
        self._styles: dict[str, Style] = {}

    def segment(self, name: str) -> Iterator[Job]:
        """The jobs of a segment, records and alignments first."""
        sheet = self._sheet
        segment = sheet.segments[name]
        takes = {each: self._take(each, segment.take_of(each)) for each in sheet.platforms}
        found = stretches_of(sheet, name, takes, self._prospect_of)
        records = {each: self._measure_job(take) for each, take in takes.items()}
        yield from records.values()
        alignment = None
        if found.alignment is not None:
            alignment = self._align_job(found.alignment)
            yield alignment
        stretches = {
            each: Stretch(
                takes[each],
                records[each].output,
                sheet.label_of(each),
                sheet.platforms[each].target_fps,
                found.start_s[each],
                found.length_s[each],
                alignment.output if alignment and each == found.follower else None,
            )
            for each in takes
        }
        for path, outputs in (
            (("outputs",), sheet.outputs),
            (("segments", name, "outputs"), segment.outputs),
        ):
            for place, output in enumerate(outputs):
                scene = Scene(
                    name,
                    stretches,
                    {each: self._prospect_of(take) for each, take in takes.items()},
                    self._style((*path, place, "style"), output),
                    Rolling(float(sheet.window), sheet.centred),
                    sheet.canvas,
                    self._draft,
                )
                with sheet.document.placing((*path, place)):
                    yield from jobs_of(output, scene)

    def still(self, name: str) -> Iterator[Job]:
        """The jobs of a still, records first; a build of some segments only leaves stills out."""
        sheet, still = self._sheet, self._sheet.stills[name]
        sides: dict[str, StillSide] = {}
        for platform in sheet.platforms:
            take = self._take(platform, still.take_of(platform))
            moment = still.at.of(platform)
            assert moment is not None  # the sheet was checked
            with sheet.document.placing(("stills", name, "at")):
                refresh_at(moment.text, self._prospect_of(take))
            record = self._measure_job(take)
            yield record
            label = sheet.label_of(platform)
            sides[platform] = StillSide(take, record.output, label, moment.text)
        with sheet.document.placing(("stills", name)):
            yield from still_jobs(
                name,
                still,
                sides,
                self._style(("stills", name, "style"), still),
                sheet.canvas.rate,
                DRAFTS if self._draft else "",
            )

    def race(self, name: str) -> Iterator[Job]:
        """The jobs of the race of a load that has one, records first."""
        sheet, load = self._sheet, self._sheet.loads[name]
        if load.race is None:
            return
        sides = []
        for platform in sheet.platforms:
            shown = load.first_take(platform)
            assert shown is not None  # the sheet was checked
            take = self._take(platform, shown.take - 1)
            with sheet.document.placing(("loads", name, "takes", load.takes.index(shown))):
                for point in (shown.start, shown.end):
                    refresh_at(point.near.text, self._prospect_of(take))
            record = self._measure_job(take)
            yield record
            sides.append(
                RaceSide(take, record.output, sheet.label_of(platform), shown.start, shown.end)
            )
        first, second = sides
        canvas = sheet.canvas.size
        work = RaceWork(
            (first, second),
            self._style(("loads", name, "race", "style"), load.race),
            load.race.layout,
            draft_canvas(canvas) if self._draft else canvas,
            sheet.canvas.rate,
            load.race.decimals,
            "draft" if self._draft else load.race.quality,
        )
        folder = DRAFTS if self._draft else ""
        yield Job(
            f"{folder}{LOADS}{name}-race.mp4",
            work,
            f"race of {name}",
            0.0,
            sum(self._prospect_of(side.take).refreshes for side in sides),
            tuple(dict.fromkeys(side.record for side in sides)),
        )

    def _take(self, platform: str, number: int) -> Take:
        known = self._takes.get((platform, number))
        if known is not None:
            return known
        sheet = self._sheet
        told = sheet.platforms[platform]
        path = sheet.folder / told.captures[number]
        place = ("platforms", platform, "captures", number)
        try:
            mark = fingerprint(path)
        except OSError as error:
            raise sheet.document.error(
                place, "be a readable file", str(path), f"check the path ({error.strerror})"
            ) from error
        take = Take(path.resolve(), path.name, mark, told.refresh_hz, told.watch, told.ignore)
        with sheet.document.placing(place):
            self._prospect_of(take)
        self._takes[platform, number] = take
        return take

    def _style(self, path: tuple[str | int, ...], output: Output | Still | LoadRace) -> Style:
        sheet = self._sheet
        named = getattr(output, "style", None)
        name = named or sheet.style
        if name not in self._styles:
            source = str(sheet.folder / name) if name.endswith(".toml") else name
            with sheet.document.placing(path if named else ("style",)):
                self._styles[name] = load_style(source)
        return self._styles[name]

    def _measure_job(self, take: Take) -> Job:
        work = MeasureWork(take)
        prospect = self._prospect_of(take)
        return Job(
            kept_name(take.name, key_of(work), ".timing.npz"),
            work,
            f"record of {take.name}",
            float(prospect.refreshes / prospect.refresh_hz),
            prospect.refreshes,
        )

    def _align_job(self, work: AlignWork) -> Job:
        seconds = 0.0
        pictures = 0
        for take in (work.first, work.second):
            prospect = self._prospect_of(take)
            seconds += float(prospect.refreshes / prospect.refresh_hz)
            pictures += prospect.refreshes
        return Job(
            kept_name(work.first.name, key_of(work), ".alignment.json"),
            work,
            f"alignment of {work.first.name} and {work.second.name}",
            seconds,
            pictures,
        )
