"""`pacerail strip`: the tiles of a segment as a picture."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import click

from pacerail.cli.options import (
    FILE,
    label_option,
    overwrite_option,
    segment_options,
    segment_refreshes,
    style_option,
    target_option,
    window_options,
)


@click.command()
@click.argument("record", type=FILE)
@segment_options
@style_option
@label_option
@target_option
@window_options
@click.option(
    "-o", "--output", type=FILE, metavar="STRIP", required=True, help="A .png, .svg or .pdf file."
)
@overwrite_option
def strip(
    record: Path,
    start: str | None,
    end: str | None,
    style: str,
    label: str | None,
    target_fps: Fraction | None,
    window: float,
    centred: bool,
    output: Path,
    overwrite: bool,
) -> None:
    """Draw the tiles of RECORD with axes, for a look before rendering."""
    from pacerail.pipeline.drawing import load_graphic, write_strip
    from pacerail.pipeline.tracks import SeriesSettings
    from pacerail.record import load_record

    loaded = load_record(record)
    first, last = segment_refreshes(start, end, loaded)
    graphic = load_graphic(
        style, label or Path(loaded.source.name).stem, SeriesSettings(target_fps, window, centred)
    )
    write_strip(loaded, graphic, first, last, output, overwrite=overwrite)
