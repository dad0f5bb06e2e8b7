"""`pacerail frame`: one composed picture, for trying a style."""

from __future__ import annotations

import os
from fractions import Fraction
from pathlib import Path

import click

from pacerail.cli.options import (
    FILE,
    label_option,
    overwrite_option,
    refresh_at,
    style_option,
    target_option,
    window_options,
)


@click.command()
@click.argument("capture", type=FILE)
@click.option("--at", "moment", metavar="T", required=True, help="The moment to show.")
@click.option("--record", type=FILE, metavar="RECORD", help="Record of this capture.")
@style_option
@label_option
@target_option
@window_options
@click.option("-o", "--output", type=FILE, metavar="FRAME.png", required=True, help="The picture.")
@overwrite_option
def frame(
    capture: Path,
    moment: str,
    record: Path | None,
    style: str,
    label: str | None,
    target_fps: Fraction | None,
    window: float,
    centred: bool,
    output: Path,
    overwrite: bool,
) -> None:
    """Draw the overlay on one picture of CAPTURE.

    It is measured first if it has no record.
    """
    # Before NumPy is loaded: starting a thread of its matrix library on each core takes a
    # twentieth of a second, and one picture has no use for them.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

    from pacerail.cli.terminal import TerminalWatcher
    from pacerail.files import check_writable
    from pacerail.pipeline.graphic import load_graphic
    from pacerail.pipeline.measuring import measure_or_reuse, prospect_of, record_path
    from pacerail.pipeline.stills import write_frame
    from pacerail.pipeline.tracks import SeriesSettings

    graphic = load_graphic(
        style, label or capture.stem, SeriesSettings(target_fps, window, centred)
    )
    check_writable(output, overwrite=overwrite)
    if record is None and not record_path(capture).exists():
        refresh_at(moment, prospect_of(capture))

    found = measure_or_reuse(capture, record, watcher=TerminalWatcher())
    refresh = refresh_at(moment, found)
    write_frame(capture, found, graphic, refresh, output, overwrite=overwrite)
