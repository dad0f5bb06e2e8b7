"""`pacerail overlay`: the tiles burned into the footage, or alone with an alpha channel."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import click

from pacerail.choices import ALPHA_CODECS, CODECS, QUALITIES
from pacerail.cli.options import (
    FILE,
    clip_option,
    label_option,
    overwrite_option,
    parsed,
    segment_options,
    segment_refreshes,
    style_option,
    target_option,
    window_options,
)
from pacerail.timebase import parse_rate

ALONE = (*ALPHA_CODECS, "pictures")


@click.command()
@click.argument("capture", type=FILE)
@click.option("--record", type=FILE, metavar="RECORD", help="Record of this capture.")
@segment_options
@style_option
@label_option
@target_option
@window_options
@click.option("--alpha", is_flag=True, help="The overlay alone, as a clip with an alpha channel.")
@click.option(
    "--codec",
    type=click.Choice(tuple(dict.fromkeys(CODECS + ALONE))),
    help=f"{', '.join(CODECS)}; with --alpha {', '.join(ALONE)} (a folder of PNG files). "
    "Default: h264, prores.",
)
@click.option(
    "--quality",
    type=click.Choice(QUALITIES),
    help="Of burned-in footage.  [default: standard]",
)
@click.option(
    "--rate",
    callback=parsed(parse_rate),
    metavar="R",
    help="Pictures a second of the clip; else those of the capture.",
)
@click.option(
    "--crop",
    is_flag=True,
    help="With --alpha: cut to the overlay's rectangle; OUT.placement.json says where it lies.",
)
@click.option(
    "--premultiplied", is_flag=True, help="With --alpha: colours multiplied by alpha, not straight."
)
@clip_option
@overwrite_option
def overlay(
    capture: Path,
    record: Path | None,
    start: str | None,
    end: str | None,
    style: str,
    label: str | None,
    target_fps: Fraction | None,
    window: float,
    centred: bool,
    alpha: bool,
    codec: str | None,
    quality: str | None,
    rate: Fraction | None,
    crop: bool,
    premultiplied: bool,
    output: Path,
    overwrite: bool,
) -> None:
    """Put the tiles onto CAPTURE.

    It is measured first if no record fits.
    """
    from pacerail.cli.terminal import TerminalWatcher
    from pacerail.pipeline.clips import ClipRequest, plan_clip, write_clip
    from pacerail.pipeline.graphic import load_graphic
    from pacerail.pipeline.measuring import measure_or_reuse, prospect_of
    from pacerail.pipeline.tracks import SeriesSettings

    # Whatever is wrong with the request is found before the long work.
    segment_refreshes(start, end, prospect_of(capture))
    graphic = load_graphic(
        style, label or capture.stem, SeriesSettings(target_fps, window, centred)
    )
    plan = plan_clip(
        ClipRequest(output, alpha, codec, quality, rate, crop, premultiplied, overwrite=overwrite)
    )

    watcher = TerminalWatcher()
    found = measure_or_reuse(capture, record, watcher=watcher)
    first, last = segment_refreshes(start, end, found)
    write_clip(capture, found, graphic, first, last, plan, watcher)
