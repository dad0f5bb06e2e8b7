"""`pacerail steps`: stair steps along an edge, counted by hand and eye."""

from __future__ import annotations

from pathlib import Path

import click

from pacerail.cli.options import (
    FILE,
    label_option,
    overwrite_option,
    report_format_option,
    style_option,
)
from pacerail.extent import refresh_at


@click.command()
@click.argument("capture", type=FILE)
@click.option("--at", "moment", metavar="T", required=True, help="The picture to look at.")
@click.option(
    "--edge",
    metavar="X0,Y0,X1,Y1",
    required=True,
    help="Both ends of a slanting edge, in pixels of the capture from its upper left corner.",
)
@report_format_option
@style_option
@label_option
@click.option(
    "-o",
    "--output",
    type=FILE,
    metavar="CROP.png",
    help="Draw the edge, enlarged, with its steps ticked: a .png, .svg or .pdf file.",
)
@overwrite_option
def steps(
    capture: Path,
    moment: str,
    edge: str,
    report_format: str,
    style: str,
    label: str | None,
    output: Path | None,
    overwrite: bool,
) -> None:
    """Count stair steps along an edge of CAPTURE.

    They tell the size at which it was drawn. Mark an edge that is nearly level for the native
    height, nearly upright for the width.
    """
    from pacerail.pipeline.graphic import load_graphic
    from pacerail.pipeline.measuring import prospect_of
    from pacerail.pipeline.steps import (
        check_steps_output,
        count_steps,
        step_json,
        step_sentences,
        write_steps,
    )

    extent = prospect_of(capture)
    refresh = refresh_at(moment, extent)
    graphic = load_graphic(style, label or capture.stem)
    if output is not None:
        check_steps_output(output, overwrite=overwrite)
    found = count_steps(capture, float(refresh / extent.refresh_hz), edge)
    if output is not None:
        write_steps(found, graphic, output, overwrite=overwrite)
    told = step_json(found) if report_format == "json" else "\n".join(step_sentences(found))
    click.echo(told)
