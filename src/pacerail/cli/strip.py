"""`pacerail strip`: the tiles of a segment as a picture."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import click

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
    style_option,
    target_option,
    window_options,
)


@click.command()
@click.argument("record", type=FILE)
@second_record
@segment_options
@second_segment_options
@style_option
@label_option
@label_b_option
@target_option
@window_options
@click.option(
    "-o", "--output", type=FILE, metavar="STRIP", required=True, help="A .png, .svg or .pdf file."
)
@overwrite_option
def strip(
    record: Path,
    record_b: Path | None,
    start: str | None,
    end: str | None,
    start_b: str | None,
    end_b: str | None,
    style: str,
    label: str | None,
    label_b: str | None,
    target_fps: Fraction | None,
    window: float,
    centred: bool,
    output: Path,
    overwrite: bool,
) -> None:
    """Draw the tiles of RECORD with axes.

    For a look before rendering. With RECORD_B its tiles hang below, mirrored, and both start
    side by side.
    """
    from pacerail.cli.terminal import tell_unknown
    from pacerail.pipeline.drawing import write_joint_strip, write_strip
    from pacerail.pipeline.graphic import load_graphic
    from pacerail.pipeline.tracks import SeriesSettings
    from pacerail.record import load_record

    records = [load_record(path) for path in (record, record_b) if path is not None]
    tell_unknown(records)
    written = WrittenSegment(Span(start, end), Span(start_b, end_b))
    episode = episode_of(written, records, (label, label_b))
    settings = SeriesSettings(target_fps, window, centred)
    match episode.passages:
        case (one, other):
            look = load_graphic(style, "").style
            write_joint_strip(one, other, look, settings, output, overwrite=overwrite)
        case (one,):
            graphic = load_graphic(style, one.label, settings)
            first, last = one.first_refresh, one.end_refresh
            write_strip(one.record, graphic, first, last, output, overwrite=overwrite)
