"""`pacerail markers`: events as markers for players and editing programs."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import click

from pacerail.choices import MARKERS_FORMATS
from pacerail.cli.options import (
    FILE,
    overwrite_option,
    segment_options,
    segment_refreshes,
    target_option,
)


@click.command()
@click.argument("record", type=FILE)
@click.option(
    "--format",
    "markers_format",
    type=click.Choice(MARKERS_FORMATS),
    required=True,
    help="WebVTT cues, or an OpenTimelineIO timeline.",
)
@segment_options
@target_option
@click.option("-o", "--output", type=FILE, metavar="FILE", help="Else standard output.")
@overwrite_option
def markers(
    record: Path,
    markers_format: str,
    start: str | None,
    end: str | None,
    target_fps: Fraction | None,
    output: Path | None,
    overwrite: bool,
) -> None:
    """Mark what happened in RECORD for an edit.

    Stalls, tears, still spans, cuts and faults.
    """
    from pacerail.cli.output import text_output
    from pacerail.cli.terminal import tell_unknown
    from pacerail.pipeline.tables import write_markers
    from pacerail.pipeline.tracks import SeriesSettings
    from pacerail.record import load_record

    loaded = load_record(record)
    first, last = segment_refreshes(start, end, loaded)
    tell_unknown([loaded])
    with text_output(output, overwrite=overwrite) as stream:
        write_markers(loaded, markers_format, SeriesSettings(target_fps), first, last, stream)
