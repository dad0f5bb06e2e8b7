"""`pacerail race`: two loads that start together, each with a clock."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import click

from pacerail.choices import RACE_LAYOUTS
from pacerail.cli.options import (
    FILE,
    encoding_options,
    overwrite_option,
    parsed,
    refresh_at,
    style_option,
)
from pacerail.size import parse_size
from pacerail.timebase import parse_rate


@click.command()
@click.argument("first", type=FILE, metavar="A")
@click.argument("second", type=FILE, metavar="B")
@click.option("--start-a", metavar="T", required=True, help="When the clock of A starts.")
@click.option("--end-a", metavar="T", required=True, help="When it stops.")
@click.option("--start-b", metavar="T", required=True, help="When the clock of B starts.")
@click.option("--end-b", metavar="T", required=True, help="When it stops.")
@click.option("--record-a", type=FILE, metavar="RECORD", help="Record of A.")
@click.option("--record-b", type=FILE, metavar="RECORD", help="Record of B.")
@click.option("--label-a", metavar="TEXT", help="Name of A; else that of the capture.")
@click.option("--label-b", metavar="TEXT", help="Name of B; else that of the capture.")
@click.option(
    "--layout",
    type=click.Choice(RACE_LAYOUTS),
    default="abreast",
    show_default=True,
    help="Side by side, or one above the other.",
)
@click.option(
    "--size",
    "canvas",
    callback=parsed(parse_size),
    metavar="WxH",
    default="1920x1080",
    show_default=True,
    help="Canvas in pixels.",
)
@click.option(
    "--rate",
    callback=parsed(parse_rate),
    metavar="R",
    help="Pictures a second; else the higher refresh rate of the two.",
)
@click.option(
    "--decimals",
    type=click.IntRange(1, 2),
    default=1,
    show_default=True,
    help="Clocks in tenths or hundredths.",
)
@click.option(
    "--audio",
    type=click.Choice(("a", "b", "both", "none")),
    default="none",
    show_default=True,
    help="Whose sound is heard; it goes on after that clock has stopped.",
)
@style_option
@encoding_options
@click.option("-o", "--output", type=FILE, metavar="OUT", required=True, help="The clip.")
@overwrite_option
def race(
    first: Path,
    second: Path,
    start_a: str,
    end_a: str,
    start_b: str,
    end_b: str,
    record_a: Path | None,
    record_b: Path | None,
    label_a: str | None,
    label_b: str | None,
    layout: str,
    canvas: tuple[int, int],
    rate: Fraction | None,
    decimals: int,
    audio: str,
    style: str,
    codec: str,
    quality: str,
    output: Path,
    overwrite: bool,
) -> None:
    """Show two loads that start together; each clock stops, and its picture stays.

    Times name the refresh on screen then.
    """
    from pacerail.cli.terminal import TerminalWatcher
    from pacerail.pipeline.graphic import load_graphic
    from pacerail.pipeline.joint import JointOutput, JointSide
    from pacerail.pipeline.joint_look import JointLook
    from pacerail.pipeline.measuring import measure_or_reuse, prospect_of
    from pacerail.pipeline.race import Race, write_race

    # Whatever is wrong with the request is found before the long work.
    for capture, times in ((first, (start_a, end_a)), (second, (start_b, end_b))):
        prospect = prospect_of(capture)
        for time in times:
            refresh_at(time, prospect)
    look = JointLook(
        style=load_graphic(style, "").style,
        layout=layout,
        canvas=canvas,
        rate=rate,
        audio=audio,
    )
    clip = JointOutput(output, codec, quality, overwrite)
    watcher = TerminalWatcher()
    sides = []
    for capture, given, label, start, end in (
        (first, record_a, label_a, start_a, end_a),
        (second, record_b, label_b, start_b, end_b),
    ):
        record = measure_or_reuse(capture, given, watcher=watcher)
        last = refresh_at(end, record) + 1
        sides.append(
            JointSide(capture, record, label or capture.stem, refresh_at(start, record), last)
        )
    write_race(Race((sides[0], sides[1]), look, decimals), clip, watcher)
