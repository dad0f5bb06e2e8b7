"""`pacerail align`: where the content of one capture lies in another."""

from __future__ import annotations

from pathlib import Path

import click

from pacerail.cli.options import FILE, overwrite_option, refresh_at, report_format_option

NO_MATCH = (
    "captures must show the same content, got nothing surely alike in {first} and {second}; name a "
    "moment of it with --around, or set the times by hand"
)


@click.command()
@click.argument("first", type=FILE, metavar="A")
@click.argument("second", type=FILE, metavar="B")
@click.option(
    "--around", metavar="T", help="Look only for what A shows within ten seconds of this moment."
)
@report_format_option
@click.option(
    "-o",
    "--output",
    type=FILE,
    metavar="PAIRS.png",
    help="Draw a few pairs of pictures that show the match: a .png, .svg or .pdf file.",
)
@overwrite_option
def align(
    first: Path,
    second: Path,
    around: str | None,
    report_format: str,
    output: Path | None,
    overwrite: bool,
) -> int:
    """Find how far apart captures A and B show the same content.

    A moment at t in A is at t + offset in B. Without a match the exit status is 1.
    """
    from pacerail.cli.terminal import TerminalWatcher
    from pacerail.pipeline.alignment import (
        align_captures,
        alignment_json,
        alignment_sentences,
        check_pairs_output,
        write_pairs,
    )
    from pacerail.pipeline.measuring import prospect_of

    around_s = None
    if around is not None:
        extent = prospect_of(first)
        around_s = float(refresh_at(around, extent) / extent.refresh_hz)
    if output is not None:
        check_pairs_output(output, overwrite=overwrite)
    found = align_captures(first, second, around_s=around_s, watcher=TerminalWatcher())
    if found is not None and output is not None:
        write_pairs(first, second, found, output, overwrite=overwrite)
    if report_format == "json":
        click.echo(alignment_json(found))
    elif found is not None:
        click.echo("\n".join(alignment_sentences(found)))
    else:
        click.echo(f"Error: {NO_MATCH.format(first=first, second=second)}", err=True)
    return 1 if found is None else 0
