"""`pacerail csv`: tables of a record as comma-separated values."""

from __future__ import annotations

import sys
from fractions import Fraction
from pathlib import Path

import click

from pacerail.cli.options import (
    FILE,
    TABLES,
    overwrite_option,
    segment_options,
    segment_refreshes,
    target_option,
    window_options,
)


@click.command()
@click.argument("record", type=FILE)
@click.option("--table", type=click.Choice(TABLES), required=True, help="Which table.")
@segment_options
@target_option
@window_options
@click.option("-o", "--output", type=FILE, metavar="FILE", help="Else standard output.")
@overwrite_option
def csv(
    record: Path,
    table: str,
    start: str | None,
    end: str | None,
    target_fps: Fraction | None,
    window: float,
    centred: bool,
    output: Path | None,
    overwrite: bool,
) -> None:
    """Write a table of RECORD as CSV (RFC 4180)."""
    from pacerail.files import atomic_output
    from pacerail.pipeline.tables import write_table
    from pacerail.pipeline.tracks import SeriesSettings
    from pacerail.record import load_record

    loaded = load_record(record)
    first, last = segment_refreshes(start, end, loaded)
    settings = SeriesSettings(target_fps, window, centred)
    if output is None:
        write_table(loaded, table, settings, first, last, sys.stdout)
        return
    with (
        atomic_output(output, overwrite=overwrite) as part,
        part.open("w", encoding="utf-8", newline="") as stream,
    ):
        write_table(loaded, table, settings, first, last, stream)
