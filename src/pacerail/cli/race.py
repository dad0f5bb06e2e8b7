"""`pacerail race`: two loads that start together, each with a clock."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import click

from pacerail.choices import RACE_LAYOUTS
from pacerail.cli.options import (
    audio_option,
    both_captures,
    both_labels_options,
    both_records_options,
    canvas_options,
    clip_option,
    encoding_options,
    overwrite_option,
    refresh_at,
    style_option,
)


@click.command()
@both_captures
@click.option("--start-a", metavar="T", required=True, help="When the clock of A starts.")
@click.option("--end-a", metavar="T", required=True, help="When it stops.")
@click.option("--start-b", metavar="T", required=True, help="When the clock of B starts.")
@click.option("--end-b", metavar="T", required=True, help="When it stops.")
@both_records_options
@both_labels_options
@click.option(
    "--layout",
    type=click.Choice(RACE_LAYOUTS),
    default="abreast",
    show_default=True,
    help="Side by side, or one above the other.",
)
@canvas_options
@click.option(
    "--decimals",
    type=click.IntRange(1, 2),
    default=1,
    show_default=True,
    help="Clocks in tenths or hundredths.",
)
@audio_option("none", "Whose sound is heard; it goes on after that clock has stopped.")
@style_option
@encoding_options
@clip_option
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
    """Show two loads that start together, each with a clock.

    The clock stops with its load, and the picture stays. Times name the refresh on screen then.
    """
    from pacerail.cli.terminal import TerminalWatcher
    from pacerail.pipeline.graphic import load_graphic
    from pacerail.pipeline.joint import JointOutput, JointSide
    from pacerail.pipeline.joint_look import JointLook
    from pacerail.pipeline.measuring import measure_or_reuse, prospect_of
    from pacerail.pipeline.race import Race, check_order, write_race

    # Whatever is wrong with the request is found before the long work.
    for capture, start, end in ((first, start_a, end_a), (second, start_b, end_b)):
        prospect = prospect_of(capture)
        check_order(refresh_at(start, prospect), refresh_at(end, prospect), capture)
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
