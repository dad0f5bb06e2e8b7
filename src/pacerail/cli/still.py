"""`pacerail still`, `push` and `alternate`: one moment, looked at closely."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import click

from pacerail.choices import STILL_ARRANGEMENTS, STILL_FILTERS, check_interval, parse_share
from pacerail.cli.options import (
    FILE,
    Decorator,
    both_captures,
    both_labels_options,
    clip_option,
    label_option,
    overwrite_option,
    parsed,
    style_option,
)
from pacerail.errors import UsageError
from pacerail.region import Region
from pacerail.timebase import parse_length, parse_rate

_AT = click.option("--at", "moment", metavar="T", required=True, help="The moment to show.")
_AT_B = click.option("--at-b", "moment_b", metavar="T", help="The moment of B; else the same.")
_FILTER = click.option(
    "--filter",
    "filter_",
    type=click.Choice(STILL_FILTERS),
    default=STILL_FILTERS[0],
    show_default=True,
    help="How pixels are enlarged: exact cells, or smooth.",
)
_RATE = click.option(
    "--rate",
    callback=parsed(parse_rate),
    metavar="R",
    default="60",
    show_default=True,
    help="Pictures a second.",
)


def _length_option(default: str) -> Decorator:
    return click.option(
        "--length",
        callback=parsed(parse_length),
        default=default,
        show_default=True,
        metavar="T",
        help="Of the clip.",
    )


@click.command()
@click.argument("first", type=FILE, metavar="A")
@click.argument("second", type=FILE, metavar="[B]", required=False)
@_AT
@_AT_B
@click.option(
    "--arrange",
    type=click.Choice(STILL_ARRANGEMENTS),
    help="Default: zoom where there are regions, else abreast.",
)
@click.option(
    "--region",
    "regions",
    multiple=True,
    callback=parsed(Region.parse),
    metavar="X,Y,W,H",
    help="Part to enlarge; may be repeated.",
)
@click.option("--scale", type=int, metavar="N", help="Enlarge N times; else as far as fits.")
@_FILTER
@click.option(
    "--divider",
    callback=parsed(parse_share),
    metavar="S",
    default="0.5",
    show_default=True,
    help="Where the line of a split picture stands, as a share of its width.",
)
@both_labels_options
@style_option
@click.option("-o", "--output", type=FILE, metavar="OUT.png", required=True, help="The picture.")
@overwrite_option
def still(
    first: Path,
    second: Path | None,
    moment: str,
    moment_b: str | None,
    arrange: str | None,
    regions: tuple[Region, ...],
    scale: int | None,
    filter_: str,
    divider: Fraction,
    label_a: str | None,
    label_b: str | None,
    style: str,
    output: Path,
    overwrite: bool,
) -> None:
    """Show one moment of A, or of A and B, at source pixels."""
    from pacerail.cli.terminal import TerminalWatcher
    from pacerail.files import check_writable
    from pacerail.pipeline.closeup_page import PageLook, write_page
    from pacerail.pipeline.closeups import close_up, record_beside
    from pacerail.pipeline.graphic import load_graphic

    arrange = arrange or ("zoom" if regions else "abreast")
    look = PageLook(load_graphic(style, "").style, arrange, regions, scale, filter_, divider)
    if second is None and (moment_b or label_b):
        raise UsageError(
            "--at-b and --label-b must go with a second capture, got one; name it or leave them out"
        )
    if second is None and arrange in ("split", "difference"):
        raise UsageError(f"{arrange} must have two captures, got one; name the second")
    if output.suffix.lower() != ".png":
        raise UsageError(f"still must be a file named .png, got {output.name}; change the suffix")
    check_writable(output, overwrite=overwrite)
    watcher = TerminalWatcher()
    sides = [close_up(first, moment, label_a, watcher, record=record_beside(first))]
    if second is not None:
        at = moment_b or moment
        sides.append(close_up(second, at, label_b, watcher, record=record_beside(second)))
    write_page(sides, look, output, overwrite=overwrite)


@click.command()
@click.argument("capture", type=FILE)
@_AT
@click.option(
    "--region", required=True, callback=parsed(Region.parse), metavar="X,Y,W,H", help="Where to."
)
@_length_option("3")
@_RATE
@_FILTER
@label_option
@style_option
@clip_option
@overwrite_option
def push(
    capture: Path,
    moment: str,
    region: Region,
    length: Fraction,
    rate: Fraction,
    filter_: str,
    label: str | None,
    style: str,
    output: Path,
    overwrite: bool,
) -> None:
    """Push in from the full picture of CAPTURE to a region.

    The picture is frozen at one moment.
    """
    from pacerail.cli.terminal import TerminalWatcher
    from pacerail.pipeline.closeup_clips import check_clip, write_push
    from pacerail.pipeline.closeups import close_up, record_beside
    from pacerail.pipeline.graphic import load_graphic

    check_clip(output, overwrite=overwrite)
    watcher = TerminalWatcher()
    side = close_up(capture, moment, label, watcher, record=record_beside(capture))
    write_push(
        side,
        load_graphic(style, "").style,
        region,
        length,
        rate,
        filter_,
        output,
        overwrite=overwrite,
        watcher=watcher,
    )


@click.command()
@both_captures
@_AT
@_AT_B
@click.option(
    "--interval",
    callback=parsed(parse_length),
    default="1",
    show_default=True,
    metavar="T",
    help="How long each is shown; an alternation of 3 Hz or more is refused.",
)
@_length_option("6")
@_RATE
@both_labels_options
@style_option
@clip_option
@overwrite_option
def alternate(
    first: Path,
    second: Path,
    moment: str,
    moment_b: str | None,
    interval: Fraction,
    length: Fraction,
    rate: Fraction,
    label_a: str | None,
    label_b: str | None,
    style: str,
    output: Path,
    overwrite: bool,
) -> None:
    """Show one moment of A and B in turn, in the same place.

    Pictures are frozen; the name changes with them.
    """
    from pacerail.cli.terminal import TerminalWatcher
    from pacerail.pipeline.closeup_clips import check_clip, write_alternation
    from pacerail.pipeline.closeups import close_up, record_beside
    from pacerail.pipeline.graphic import load_graphic

    check_interval(interval)
    check_clip(output, overwrite=overwrite)
    watcher = TerminalWatcher()
    sides = (
        close_up(first, moment, label_a, watcher, record=record_beside(first)),
        close_up(second, moment_b or moment, label_b, watcher, record=record_beside(second)),
    )
    write_alternation(
        sides,
        load_graphic(style, "").style,
        interval,
        length,
        rate,
        output,
        overwrite=overwrite,
        watcher=watcher,
    )
