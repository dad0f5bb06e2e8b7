"""`pacerail facts`: short sentences for a narration."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import click

from pacerail.choices import FACTS_FORMATS
from pacerail.cli.episodes import (
    Span,
    WrittenSegment,
    episode_of,
    parse_segment,
    second_record,
    second_segment_options,
)
from pacerail.cli.options import (
    FILE,
    label_b_option,
    label_option,
    overwrite_option,
    parsed,
    segment_options,
    target_option,
)
from pacerail.errors import UsageError


@click.command()
@click.argument("record", type=FILE)
@second_record
@segment_options
@second_segment_options
@click.option(
    "--segment",
    "segments",
    multiple=True,
    callback=parsed(parse_segment),
    metavar="[NAME=]IN..OUT[/IN[..OUT]]",
    help="A segment instead of --from and --to; may be repeated. What follows a stroke are its "
    "times in RECORD_B.",
)
@label_option
@label_b_option
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
    record_b: Path | None,
    start: str | None,
    end: str | None,
    start_b: str | None,
    end_b: str | None,
    segments: tuple[WrittenSegment, ...],
    label: str | None,
    label_b: str | None,
    facts_format: str,
    target_fps: Fraction | None,
    output: Path | None,
    overwrite: bool,
) -> None:
    """Say what may be said about a segment of RECORD.

    Each sentence comes with its exact numbers and the times at which it can be seen. With
    RECORD_B, also what sets the two platforms apart. That one runs better is said only where
    the footage says it: where the 95 % interval of the difference lies on one side of zero.
    """
    from pacerail.cli.output import text_output
    from pacerail.pipeline.facts import facts_text
    from pacerail.pipeline.tracks import SeriesSettings
    from pacerail.record import load_record

    if segments and any((start, end, start_b, end_b)):
        raise UsageError(
            "--segment must stand without --from and --to, got both; write all times as segments"
        )
    records = [load_record(path) for path in (record, record_b) if path is not None]
    whole = WrittenSegment(Span(start, end), Span(start_b, end_b))
    episodes = [episode_of(each, records, (label, label_b)) for each in segments or (whole,)]
    text = facts_text(episodes, facts_format, SeriesSettings(target_fps))
    with text_output(output, overwrite=overwrite) as stream:
        stream.write(text)
