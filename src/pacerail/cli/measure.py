"""`pacerail measure`: a capture becomes a timing record, and its facts are shown."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import click

from pacerail.cli.options import FILE, overwrite_option, parsed, target_option
from pacerail.region import Region
from pacerail.timebase import parse_rate


@click.command()
@click.argument("capture", type=FILE)
@click.option(
    "-o",
    "--output",
    type=FILE,
    metavar="RECORD",
    help="Where the record goes; else NAME.timing.npz beside the capture.",
)
@click.option(
    "--refresh-hz",
    callback=parsed(parse_rate),
    metavar="R",
    help="Refresh rate of the display; found in the file if left out.",
)
@target_option
@click.option(
    "--watch", callback=parsed(Region.parse), metavar="X,Y,W,H", help="Look at this region only."
)
@click.option(
    "--ignore",
    callback=parsed(Region.parse),
    metavar="X,Y,W,H",
    multiple=True,
    help="Leave this region out; may be given again.",
)
@click.option(
    "--gaps",
    type=click.Choice(("fault", "held")),
    default="fault",
    show_default=True,
    help="A refresh without a picture was lost by the recorder, or held: some recorders leave "
    "out pictures that repeat.",
)
@click.option("--interlaced", is_flag=True, help="Measure interlaced pictures as progressive ones.")
@click.option(
    "--hwaccel", metavar="NAME", help="Decode with this hardware, such as vaapi or cuda, if it can."
)
@overwrite_option
def measure(
    capture: Path,
    output: Path | None,
    refresh_hz: Fraction | None,
    target_fps: Fraction | None,
    watch: Region | None,
    ignore: tuple[Region, ...],
    gaps: str,
    interlaced: bool,
    hwaccel: str | None,
    overwrite: bool,
) -> None:
    """Find frames and tears of CAPTURE; keep them in a record."""
    from pacerail.cli.report import record_report
    from pacerail.cli.terminal import TerminalWatcher
    from pacerail.pipeline.measuring import MeasureSettings, measure_to_file
    from pacerail.pipeline.tables import figures_of

    settings = MeasureSettings(
        refresh_hz=refresh_hz,
        target_fps=target_fps,
        watch=watch,
        ignore=ignore,
        gaps_are_held=gaps == "held",
        allow_interlaced=interlaced,
        hwaccel=hwaccel,
    )
    record = measure_to_file(capture, output, settings, TerminalWatcher(), overwrite=overwrite)
    click.echo(record_report(record, figures_of(record)))
