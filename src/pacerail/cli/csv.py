"""`pacerail csv`: tables of a record as comma-separated values."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import click

from pacerail.choices import TABLES, TABLES_WITH_TIMECODE
from pacerail.cli.options import (
    FILE,
    overwrite_option,
    segment_options,
    segment_refreshes,
    target_option,
    window_options,
)
from pacerail.errors import UsageError


@click.command()
@click.argument("record", type=FILE)
@click.option("--table", type=click.Choice(TABLES), required=True, help="Which table.")
@segment_options
@target_option
@window_options
@click.option("--timecode", is_flag=True, help="Add a column with the timecode of each row.")
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
    timecode: bool,
    output: Path | None,
    overwrite: bool,
) -> None:
    """Write a table of RECORD as CSV (RFC 4180)."""
    from pacerail.cli.output import text_output
    from pacerail.pipeline.tables import write_table
    from pacerail.pipeline.tracks import SeriesSettings
    from pacerail.record import load_record

    if timecode and table not in TABLES_WITH_TIMECODE:
        raise UsageError(
            f"--timecode must go with a table of refreshes ({', '.join(TABLES_WITH_TIMECODE)}), "
            f"got {table}; leave it out"
        )
    loaded = load_record(record)
    first, last = segment_refreshes(start, end, loaded)
    settings = SeriesSettings(target_fps, window, centred)
    with text_output(output, overwrite=overwrite) as stream:
        write_table(loaded, table, settings, first, last, stream, timecode=timecode)
