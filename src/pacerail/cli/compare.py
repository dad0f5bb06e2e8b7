"""`pacerail compare`: two captures in one clip, each with its tiles."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import click

from pacerail.choices import LAYOUTS, parse_share
from pacerail.cli.options import (
    FILE,
    encoding_options,
    overwrite_option,
    parsed,
    refresh_at,
    style_option,
    target_option,
    window_options,
)
from pacerail.size import parse_size
from pacerail.timebase import parse_rate, parse_time

AUDIO = ("a", "b", "both", "none")
USUAL_RATE = Fraction(60)
"""Hz, on which a length that is written as timecode is counted."""


def parse_length(text: str) -> Fraction:
    """Seconds of a length, written as any time."""
    return parse_time(text, USUAL_RATE)


@click.command()
@click.argument("first", type=FILE, metavar="A")
@click.argument("second", type=FILE, metavar="B")
@click.option(
    "--layout",
    type=click.Choice(LAYOUTS),
    default="abreast",
    show_default=True,
    help="Side by side, one above the other, one picture cut by a line, B small on A, or one "
    "of them alone under the tiles of both.",
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
@click.option("--from-a", metavar="T", default="0", help="Moment of A that comes first.")
@click.option("--from-b", metavar="T", default="0", help="Moment of B that comes first.")
@click.option(
    "--length",
    callback=parsed(parse_length),
    metavar="T",
    help="Length of the clip; else until the longer capture ends.",
)
@click.option("--record-a", type=FILE, metavar="RECORD", help="Record of A.")
@click.option("--record-b", type=FILE, metavar="RECORD", help="Record of B.")
@click.option("--label-a", metavar="TEXT", help="Name of A; else that of the capture.")
@click.option("--label-b", metavar="TEXT", help="Name of B; else that of the capture.")
@click.option(
    "--audio",
    type=click.Choice(AUDIO),
    default="a",
    show_default=True,
    help="Whose sound is heard; of both, A from the left and B from the right.",
)
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
@click.option("-o", "--output", type=FILE, metavar="OUT", required=True, help="The clip.")
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
    """Show the captures A and B in one clip, measuring them first if no record fits."""
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
