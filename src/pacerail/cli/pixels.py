"""`pacerail pixels`: the size at which a capture's pictures were drawn."""

from __future__ import annotations

from pathlib import Path

import click

from pacerail.cli.options import (
    FILE,
    label_option,
    overwrite_option,
    parsed,
    report_format_option,
    segment_options,
    segment_refreshes,
    style_option,
)
from pacerail.errors import UsageError
from pacerail.extent import refresh_at
from pacerail.region import Region


@click.command()
@click.argument("capture", type=FILE)
@click.option("--at", "moment", metavar="T", help="One picture only, instead of a segment.")
@segment_options
@click.option(
    "--region",
    "regions",
    multiple=True,
    callback=parsed(Region.parse),
    metavar="X,Y,W,H",
    help="Look at this part only; may be given several times.",
)
@report_format_option
@style_option
@label_option
@click.option(
    "-o",
    "--output",
    type=FILE,
    metavar="EVIDENCE.png",
    help="Draw the evidence: a .png, .svg or .pdf file.",
)
@overwrite_option
def pixels(
    capture: Path,
    moment: str | None,
    start: str | None,
    end: str | None,
    regions: tuple[Region, ...],
    report_format: str,
    style: str,
    label: str | None,
    output: Path | None,
    overwrite: bool,
) -> None:
    """Estimate at what size pictures of CAPTURE were drawn.

    That is, before they were enlarged. Enlarging leaves a trace that repeats with the size it
    started from. Where nothing is left of it, the answer is that it cannot be told.
    """
    from pacerail.cli.terminal import TerminalWatcher
    from pacerail.pipeline.graphic import load_graphic
    from pacerail.pipeline.measuring import prospect_of
    from pacerail.pipeline.pixels import (
        check_evidence_output,
        count_pixels,
        pixel_json,
        pixel_text,
        write_evidence,
    )

    if moment is not None and (start is not None or end is not None):
        raise UsageError(
            f"moment must stand alone, got --at {moment} beside --from or --to; "
            "leave out one or the other"
        )
    extent = prospect_of(capture)
    if moment is None:
        first, last = segment_refreshes(start, end, extent)
    else:
        first = refresh_at(moment, extent)
        last = first + 1
    graphic = load_graphic(style, label or capture.stem)
    if output is not None:
        check_evidence_output(output, overwrite=overwrite)
    refresh_hz = float(extent.refresh_hz)
    found = count_pixels(capture, first / refresh_hz, last / refresh_hz, regions, TerminalWatcher())
    if output is not None:
        write_evidence(found, graphic, output, overwrite=overwrite)
    click.echo(pixel_json(found) if report_format == "json" else pixel_text(found))
