"""Doing the jobs of a build: only those that are needed, each when its inputs are there."""

from __future__ import annotations

from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import dataclass
from pathlib import Path

from pacerail.errors import PacerailError
from pacerail.pipeline.job import Job
from pacerail.pipeline.manifest import Manifest
from pacerail.pipeline.plan import Plan
from pacerail.pipeline.telling import Telling
from pacerail.pipeline.watcher import QUIET, Watcher
from pacerail.pipeline.workers import Workers

# How often progress is looked at.
_LOOK_EVERY_S = 0.25


@dataclass(frozen=True)
class Failure:
    """A job that could not be done."""

    job: Job
    reason: str


@dataclass(frozen=True)
class Outcome:
    """What a build came to."""

    made: tuple[Job, ...]
    kept: tuple[Job, ...]
    """Current before; not made again."""
    failures: tuple[Failure, ...]
    left_out: tuple[Job, ...]
    """Not tried, as they need what could not be made."""


def outdated(plan: Plan, manifest: Manifest) -> list[Job]:
    """The jobs of a plan whose outputs are not there as they would be made now."""
    return [job for job in plan.jobs if not manifest.is_current(job.outputs, job.key)]


def build(plan: Plan, workers: Workers, watcher: Watcher = QUIET) -> Outcome:
    """Do what is outdated of a plan, spread over workers; finished outputs stay.

    A job that fails takes those with it that need its output; the others are done. What
    another build in the same folder makes meanwhile counts as made.
    """
    todo = outdated(plan, Manifest(plan.folder))
    missing = {job.output for job in todo}
    total = sum(job.pictures for job in todo)
    running: dict[Future[tuple[str, ...]], Job] = {}
    done: list[Job] = []
    failures: list[Failure] = []
    waiting = todo
    with watcher.task(f"building {plan.folder.name}", total or None) as advance:
        try:
            while waiting or running:
                ready = [job for job in waiting if missing.isdisjoint(job.needs)]
                waiting = [job for job in waiting if not missing.isdisjoint(job.needs)]
                running |= {workers.executor.submit(do, job, plan.folder): job for job in ready}
                if not running:
                    break
                ended, _ = wait(running, _LOOK_EVERY_S, return_when=FIRST_COMPLETED)
                for future in ended:
                    job = running.pop(future)
                    try:
                        notices = future.result()
                    except PacerailError as error:
                        failures.append(Failure(job, str(error)))
                        continue
                    missing.discard(job.output)
                    done.append(job)
                    for sentence in notices:
                        watcher.notice(f"{job.output}: {sentence}")
                advance(max(sum(job.pictures for job in done), workers.pictures_done()))
        except BaseException:
            for future in running:
                future.cancel()
            raise
    tried = {job.output for job in todo}
    done_now = {job.output for job in done}
    return Outcome(
        made=tuple(job for job in plan.jobs if job.output in done_now),
        kept=tuple(job for job in plan.jobs if job.output not in tried),
        failures=tuple(failures),
        left_out=tuple(waiting),
    )


def do(job: Job, folder: Path) -> tuple[str, ...]:
    """Do one job, unless another process has done it by the time it may begin.

    Returns what the user should know. Raises PacerailError as the work does.
    """
    output = folder / job.output
    output.parent.mkdir(parents=True, exist_ok=True)
    manifest = Manifest(folder)
    telling = Telling(job.pictures)
    with manifest.writing(*job.outputs):
        manifest.refresh()
        if not manifest.is_current(job.outputs, job.key):
            job.work.make(folder, output, telling)
            manifest.note(job.outputs, job.key)
    telling.finish()
    return tuple(telling.notices)
