"""`pacerail loads`: load times of an edit sheet."""

from __future__ import annotations

from pathlib import Path

import click

from pacerail.choices import LOADS_FORMATS
from pacerail.cli.options import FILE, overwrite_option


@click.command()
@click.argument("sheet", type=FILE)
@click.option(
    "--format",
    "loads_format",
    type=click.Choice(LOADS_FORMATS),
    default="text",
    show_default=True,
    help="What the times are written as.",
)
@click.option("-o", "--output", type=FILE, metavar="FILE", help="Else standard output.")
@click.option(
    "--races",
    type=FILE,
    metavar="FOLDER",
    help="Also write a race of each load there, first take against first take.",
)
@overwrite_option
def loads(
    sheet: Path, loads_format: str, output: Path | None, races: Path | None, overwrite: bool
) -> None:
    """Time the loads of SHEET, and compare the platforms.

    Each take is timed to the refresh."""
    from pacerail.cli.output import text_output
    from pacerail.cli.terminal import TerminalWatcher
    from pacerail.pipeline.loads import measure_loads, write_loads, write_races

    watcher = TerminalWatcher()
    measured = measure_loads(sheet, watcher)
    if races is not None:
        write_races(measured, races, watcher, overwrite=overwrite)
    with text_output(output, overwrite=overwrite) as stream:
        write_loads(measured.tables(), loads_format, stream)
