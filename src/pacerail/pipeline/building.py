"""Doing the jobs of a build: only those that are needed, each when its inputs are there."""

from __future__ import annotations

from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from dataclasses import dataclass
from pathlib import Path

from pacerail.errors import PacerailError
from pacerail.pipeline.job import Job
from pacerail.pipeline.manifest import Manifest
from pacerail.pipeline.plan import Plan
from pacerail.pipeline.watcher import QUIET, Watcher


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


def build(
    plan: Plan,
    executor: Executor,
    watcher: Watcher = QUIET,
) -> Outcome:
    """Do what is outdated of a plan, spread over an executor; finished outputs stay.

    A job that fails takes those with it that need its output; the others are done. What
    another build in the same folder makes meanwhile counts as made.
    """
    todo = outdated(plan, Manifest(plan.folder))
    missing = {job.output for job in todo}
    total = sum(job.pictures for job in todo)
    running: dict[Future[None], Job] = {}
    done: list[Job] = []
    failures: list[Failure] = []
    waiting = todo
    with watcher.task(f"building {plan.folder.name}", total or None) as advance:
        try:
            while waiting or running:
                ready = [job for job in waiting if missing.isdisjoint(job.needs)]
                waiting = [job for job in waiting if not missing.isdisjoint(job.needs)]
                running |= {executor.submit(do, job, plan.folder): job for job in ready}
                if not running:
                    break
                for future in wait(running, return_when=FIRST_COMPLETED).done:
                    job = running.pop(future)
                    try:
                        future.result()
                    except PacerailError as error:
                        failures.append(Failure(job, str(error)))
                        continue
                    missing.discard(job.output)
                    done.append(job)
                    advance(sum(each.pictures for each in done))
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


def do(job: Job, folder: Path, watcher: Watcher = QUIET) -> None:
    """Do one job, unless another process has done it by the time it may begin.

    Raises PacerailError as the work does.
    """
    output = folder / job.output
    output.parent.mkdir(parents=True, exist_ok=True)
    manifest = Manifest(folder)
    with manifest.writing(*job.outputs):
        manifest.refresh()
        if not manifest.is_current(job.outputs, job.key):
            job.work.make(folder, output, watcher)
            manifest.note(job.outputs, job.key)
