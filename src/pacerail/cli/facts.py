"""`pacerail facts`: short sentences for a narration."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import click

from pacerail.choices import FACTS_FORMATS
from pacerail.cli.options import (
    FILE,
    overwrite_option,
    segment_options,
    segment_refreshes,
    target_option,
)


@click.command()
@click.argument("record", type=FILE)
@segment_options
@click.option(
    "--format",
    "facts_format",
    type=click.Choice(FACTS_FORMATS),
    default="text",
    show_default=True,
    help="What the facts are written as.",
)
@target_option
@click.option("-o", "--output", type=FILE, metavar="FILE", help="Else standard output.")
@overwrite_option
def facts(
    record: Path,
    start: str | None,
    end: str | None,
    facts_format: str,
    target_fps: Fraction | None,
    output: Path | None,
    overwrite: bool,
) -> None:
    """Say what may be said about a segment of RECORD, and where it can be seen."""
    from pacerail.cli.output import text_output
    from pacerail.pipeline.facts import facts_text
    from pacerail.pipeline.tracks import SeriesSettings
    from pacerail.record import load_record

    loaded = load_record(record)
    first, last = segment_refreshes(start, end, loaded)
    text = facts_text(loaded, facts_format, SeriesSettings(target_fps), first, last)
    with text_output(output, overwrite=overwrite) as stream:
        stream.write(text)
