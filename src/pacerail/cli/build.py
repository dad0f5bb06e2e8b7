"""`pacerail build`: everything that an edit sheet asks for."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pacerail.cli.options import FILE
from pacerail.errors import OutputError, UsageError
from pacerail.timebase import format_clock

if TYPE_CHECKING:
    from pacerail.pipeline.building import Outcome
    from pacerail.pipeline.sheets import Prepared


@click.command()
@click.argument("sheet", type=FILE)
@click.argument("segments", nargs=-1, metavar="[SEGMENT]...")
@click.option("--check", is_flag=True, help="Say what would be made; measure and write nothing.")
@click.option(
    "--draft", is_flag=True, help="A quarter of the pixels, quickly, into the folder draft."
)
@click.option(
    "--jobs",
    type=click.IntRange(1),
    metavar="N",
    help="Processes that work side by side; else one for each core.",
)
@click.option(
    "--scheduler",
    metavar="ADDRESS",
    help="Dask cluster that does the work instead; it must see the same files.",
)
@click.option("-o", "--output", type=FILE, metavar="FOLDER", help="Else the folder of the sheet.")
def build(
    sheet: Path,
    segments: tuple[str, ...],
    check: bool,
    draft: bool,
    jobs: int | None,
    scheduler: str | None,
    output: Path | None,
) -> int:
    """Make what SHEET asks for, where it is not there already.

    All of it, unless segments are named. Nothing is measured or made again that would come out
    the same.
    """
    from pacerail.cli.terminal import TerminalWatcher
    from pacerail.pipeline.building import build as build_plan
    from pacerail.pipeline.sheets import prepare
    from pacerail.pipeline.workers import cluster, processes

    if scheduler is not None and jobs is not None:
        raise UsageError("--jobs must not go with --scheduler, got both; leave one out")
    prepared = prepare(sheet, segments, draft=draft, folder=output)
    if check:
        _list(prepared)
        return 0
    prepared.prospects.keep()
    watcher = TerminalWatcher()
    folder = prepared.plan.folder
    for stale in prepared.stale:
        watcher.notice(f"{folder / stale} is not in the sheet any more; it is left as it is")
    has_work = not all(map(prepared.is_current, prepared.plan.jobs))
    jobs = (jobs or os.cpu_count() or 1) if has_work else 1
    crew = cluster(scheduler) if scheduler else processes(jobs)
    with crew as workers:
        outcome = build_plan(prepared.plan, workers, watcher)
    return _report(outcome, folder)


def _list(prepared: Prepared) -> None:
    """One line for each output: state, length, file, what it is."""
    width = max((len(job.output) for job in prepared.plan.jobs), default=0)
    if not prepared.plan.jobs:
        click.echo("nothing to make: the sheet asks for no outputs")
    for job in prepared.plan.jobs:
        state = "there" if prepared.is_current(job) else "to make"
        clock = format_clock(job.duration_s)
        click.echo(f"{state:8}{clock:>10}  {job.output:{width}}  {job.about}")


def _report(outcome: Outcome, folder: Path) -> int:
    """What was done, on standard output; what failed, on standard error."""
    for job in outcome.made:
        click.echo(folder / job.output)
    click.echo(f"{len(outcome.made)} made, {len(outcome.kept)} there already")
    for failure in outcome.failures:
        click.echo(f"Error: {failure.job.output}: {failure.reason}", err=True)
    if outcome.left_out:
        names = ", ".join(job.output for job in outcome.left_out)
        click.echo(f"Error: not tried, as they need what failed: {names}", err=True)
    return OutputError.exit_code if outcome.failures else 0
