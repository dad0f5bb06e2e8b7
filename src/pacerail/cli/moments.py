"""`pacerail moments`: where a clock may start or stop."""

from __future__ import annotations

from pathlib import Path

import click

from pacerail.cli.options import (
    FILE,
    overwrite_option,
    parse_seconds,
    parsed,
    report_format_option,
    segment_options,
    segment_refreshes,
    style_option,
)


@click.command()
@click.argument("capture", type=FILE)
@segment_options
@click.option("--record", type=FILE, metavar="RECORD", help="Record of the capture.")
@click.option(
    "--still-limit",
    callback=parsed(parse_seconds),
    metavar="T",
    default="500ms",
    show_default=True,
    help="A picture that stays longer is still.",
)
@report_format_option
@style_option
@click.option(
    "-o",
    "--output",
    type=FILE,
    metavar="SHEET.png",
    help="Draw the pictures around each moment: a .png, .svg or .pdf file.",
)
@overwrite_option
def moments(
    capture: Path,
    start: str | None,
    end: str | None,
    record: Path | None,
    still_limit: float,
    report_format: str,
    style: str,
    output: Path | None,
    overwrite: bool,
) -> None:
    """List where a clock may start or stop in CAPTURE.

    Candidates are cuts, black, white, fades, stills and sound. A start is the first refresh
    that shows it, an end the first that does not any more. An end that the capture does not
    show is not listed.
    """
    from pacerail.cli.terminal import TerminalWatcher
    from pacerail.pipeline.graphic import load_graphic
    from pacerail.pipeline.measuring import measure_or_reuse
    from pacerail.pipeline.moments import (
        check_contact_sheet,
        moments_json,
        moments_of,
        moments_text,
        within,
        write_contact_sheet,
    )

    look = load_graphic(style, "").style
    if output is not None:
        check_contact_sheet(output, overwrite=overwrite)
    watcher = TerminalWatcher()
    measured = measure_or_reuse(capture, record, watcher=watcher)
    first, last = segment_refreshes(start, end, measured)
    found = moments_of(capture, measured, still_limit_s=still_limit, watcher=watcher)
    found = within(found, first, last)
    if not found:
        watcher.notice("no moments were found there")
    if output is not None:
        write_contact_sheet(capture, measured, found, look, output, overwrite=overwrite)
    written = moments_json if report_format == "json" else moments_text
    click.echo(written(found), nl=False)
