"""`pacerail csv`: tables of a record as comma-separated values."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import click

from pacerail.choices import COMPARISON, TABLES, TABLES_WITH_TIMECODE
from pacerail.cli.episodes import (
    Span,
    WrittenSegment,
    episode_of,
    second_record,
    second_segment_options,
)
from pacerail.cli.options import (
    FILE,
    label_b_option,
    label_option,
    overwrite_option,
    segment_options,
    target_option,
    window_options,
)
from pacerail.errors import UsageError


@click.command()
@click.argument("record", type=FILE)
@second_record
@click.option(
    "--table", type=click.Choice((*TABLES, COMPARISON)), required=True, help="Which table."
)
@segment_options
@second_segment_options
@label_option
@label_b_option
@target_option
@window_options
@click.option("--timecode", is_flag=True, help="Add a column with the timecode of each row.")
@click.option("-o", "--output", type=FILE, metavar="FILE", help="Else standard output.")
@overwrite_option
def csv(
    record: Path,
    record_b: Path | None,
    table: str,
    start: str | None,
    end: str | None,
    start_b: str | None,
    end_b: str | None,
    label: str | None,
    label_b: str | None,
    target_fps: Fraction | None,
    window: float,
    centred: bool,
    timecode: bool,
    output: Path | None,
    overwrite: bool,
) -> None:
    """Write a table of RECORD as CSV (RFC 4180).

    The table comparison has the figures of RECORD and RECORD_B beside each other, with their
    difference and, from ten seconds on, its 95 % interval.
    """
    from pacerail.cli.output import text_output
    from pacerail.cli.terminal import tell_unknown
    from pacerail.pipeline.tables import write_comparison, write_table
    from pacerail.pipeline.tracks import SeriesSettings
    from pacerail.record import load_record

    if timecode and table not in TABLES_WITH_TIMECODE:
        raise UsageError(
            f"--timecode must go with a table of refreshes ({', '.join(TABLES_WITH_TIMECODE)}), "
            f"got {table}; leave it out"
        )
    if (record_b is None) == (table == COMPARISON):
        raise UsageError(
            f"table {COMPARISON} must go with two records and every other with one, got "
            f"{table} of {'one' if record_b is None else 'two'}; name another table or record"
        )
    records = [load_record(path) for path in (record, record_b) if path is not None]
    written = WrittenSegment(Span(start, end), Span(start_b, end_b))
    episode = episode_of(written, records, (label, label_b))
    settings = SeriesSettings(target_fps, window, centred)
    if table == "events":
        tell_unknown(records)
    with text_output(output, overwrite=overwrite) as stream:
        match episode.passages:
            case (one, other):
                write_comparison(one, other, settings, stream)
            case (one,):
                first, last = one.first_refresh, one.end_refresh
                write_table(one.record, table, settings, first, last, stream, timecode=timecode)
