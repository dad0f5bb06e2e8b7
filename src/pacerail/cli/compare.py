"""`pacerail compare`: two captures in one clip, each with its tiles."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import click

from pacerail.choices import LAYOUTS, parse_share
from pacerail.cli.options import (
    audio_option,
    both_captures,
    both_labels_options,
    both_records_options,
    canvas_options,
    clip_option,
    encoding_options,
    overwrite_option,
    parsed,
    refresh_at,
    style_option,
    target_option,
    window_options,
)
from pacerail.timebase import parse_length


@click.command()
@both_captures
@click.option(
    "--layout",
    type=click.Choice(LAYOUTS),
    default="abreast",
    show_default=True,
    help="Side by side, one above the other, one picture cut by a line, B small on A, or one "
    "of them alone under the tiles of both.",
)
@canvas_options
@click.option("--from-a", metavar="T", default="0", help="Moment of A that comes first.")
@click.option("--from-b", metavar="T", default="0", help="Moment of B that comes first.")
@click.option(
    "--length",
    callback=parsed(parse_length),
    metavar="T",
    help="Length of the clip; else until the longer capture ends.",
)
@both_records_options
@both_labels_options
@audio_option("a", "Whose sound is heard; of both, A from the left and B from the right.")
@click.option(
    "--unscaled", is_flag=True, help="Every picture at its own pixels, the middle of it if large."
)
@click.option(
    "--divider",
    callback=parsed(parse_share),
    metavar="S",
    default="0.5",
    show_default=True,
    help="Where the line of a split picture stands, as a share of its width.",
)
@click.option(
    "--sweep",
    callback=parsed(parse_length),
    metavar="T",
    help="Let that line go to and fro once in this time.",
)
@style_option
@target_option
@window_options
@encoding_options
@clip_option
@overwrite_option
def compare(
    first: Path,
    second: Path,
    layout: str,
    canvas: tuple[int, int],
    rate: Fraction | None,
    from_a: str,
    from_b: str,
    length: Fraction | None,
    record_a: Path | None,
    record_b: Path | None,
    label_a: str | None,
    label_b: str | None,
    audio: str,
    unscaled: bool,
    divider: Fraction,
    sweep: Fraction | None,
    style: str,
    target_fps: Fraction | None,
    window: float,
    centred: bool,
    codec: str,
    quality: str,
    output: Path,
    overwrite: bool,
) -> None:
    """Show captures A and B in one clip, each with its tiles.

    One that no record fits is measured first.
    """
    from pacerail.cli.terminal import TerminalWatcher
    from pacerail.pipeline.graphic import load_graphic
    from pacerail.pipeline.joint import JointClip, JointOutput, JointSide, write_joint_clip
    from pacerail.pipeline.joint_look import JointLook
    from pacerail.pipeline.measuring import measure_or_reuse, prospect_of
    from pacerail.pipeline.tracks import SeriesSettings

    # Whatever is wrong with the request is found before the long work.
    for capture, start in ((first, from_a), (second, from_b)):
        refresh_at(start, prospect_of(capture))
    look = JointLook(
        style=load_graphic(style, "").style,
        layout=layout,
        canvas=canvas,
        scales=not unscaled,
        divider=divider,
        sweep_s=sweep,
        rate=rate,
        length_s=length,
        audio=audio,
        settings=SeriesSettings(target_fps, window, centred),
    )
    clip = JointOutput(output, codec, quality, overwrite)

    watcher = TerminalWatcher()
    record_1 = measure_or_reuse(first, record_a, watcher=watcher)
    record_2 = measure_or_reuse(second, record_b, watcher=watcher)
    sides = (
        JointSide(first, record_1, label_a or first.stem, refresh_at(from_a, record_1)),
        JointSide(second, record_2, label_b or second.stem, refresh_at(from_b, record_2)),
    )
    write_joint_clip(JointClip(sides, look), clip, watcher)
