"""Options that several commands share, read from text once, here at the edge."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import click

from pacerail.choices import CODECS, QUALITIES
from pacerail.errors import UsageError
from pacerail.extent import Extent, length_in_words, seconds_at
from pacerail.extent import refresh_at as refresh_at
from pacerail.size import parse_size
from pacerail.timebase import parse_length, parse_rate, seconds_to_refresh

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]


def parsed(parse: Callable[[str], Any]) -> Callable[[click.Context, click.Parameter, Any], Any]:
    """Callback that reads an option, or each of a repeated one, with one of our own parsers."""

    def callback(_: click.Context, __: click.Parameter, value: Any) -> Any:
        if isinstance(value, tuple):
            return tuple(parse(text) for text in value)
        return None if value is None else parse(value)

    return callback


def parse_seconds(text: str) -> float:
    """A length of time for what is not exact. Raises UsageError where it is none."""
    return float(parse_length(text))


FILE = click.Path(path_type=Path)


def together(*options: Decorator) -> Decorator:
    """Several options as one decorator, in that order in the help."""

    def decorate(command: Callable[..., Any]) -> Callable[..., Any]:
        for option in reversed(options):
            command = option(command)
        return command

    return decorate


encoding_options = together(
    click.option(
        "--codec", type=click.Choice(CODECS), default="h264", show_default=True, help="Of the clip."
    ),
    click.option(
        "--quality",
        type=click.Choice(QUALITIES),
        default="standard",
        show_default=True,
        help="Of the clip.",
    ),
)
report_format_option = click.option(
    "--format",
    "report_format",
    type=click.Choice(("text", "json")),
    default="text",
    show_default=True,
    help="What is printed.",
)
clip_option = click.option(
    "-o", "--output", type=FILE, metavar="OUT", required=True, help="The clip."
)
overwrite_option = click.option("--overwrite", is_flag=True, help="Replace what is there already.")

segment_options = together(
    click.option(
        "--from", "start", metavar="T", help="Start of the segment; else the first picture."
    ),
    click.option("--to", "end", metavar="T", help="End of the segment; else the last picture."),
)

target_option = click.option(
    "--target-fps",
    callback=parsed(parse_rate),
    metavar="F",
    help="Frame rate the program aims at; inferred from the frames if left out.",
)

window_options = together(
    click.option(
        "--window",
        callback=parsed(parse_seconds),
        metavar="T",
        default="1s",
        show_default=True,
        help="Window of the rolling frame rate.",
    ),
    click.option("--centred", is_flag=True, help="Centre that window instead of trailing."),
)

style_option = click.option(
    "--style", metavar="S", default="quay", show_default=True, help="A shipped style, or a file."
)

label_option = click.option(
    "--label", metavar="TEXT", help="Name of the platform; else that of the capture."
)

label_b_option = click.option(
    "--label-b", metavar="TEXT", help="Name of the second platform; else that of its capture."
)

both_captures = together(
    click.argument("first", type=FILE, metavar="A"),
    click.argument("second", type=FILE, metavar="B"),
)
both_records_options = together(
    click.option("--record-a", type=FILE, metavar="RECORD", help="Record of A."),
    click.option("--record-b", type=FILE, metavar="RECORD", help="Record of B."),
)
both_labels_options = together(
    click.option("--label-a", metavar="TEXT", help="Name of A; else that of the capture."),
    click.option("--label-b", metavar="TEXT", help="Name of B; else that of the capture."),
)
canvas_options = together(
    click.option(
        "--size",
        "canvas",
        callback=parsed(parse_size),
        metavar="WxH",
        default="1920x1080",
        show_default=True,
        help="Canvas in pixels.",
    ),
    click.option(
        "--rate",
        callback=parsed(parse_rate),
        metavar="R",
        help="Pictures a second; else the higher refresh rate of the two.",
    ),
)


def audio_option(default: str, meaning: str) -> Decorator:
    """Whose sound two captures in one clip have."""
    return click.option(
        "--audio",
        type=click.Choice(("a", "b", "both", "none")),
        default=default,
        show_default=True,
        help=meaning,
    )


def segment_refreshes(start: str | None, end: str | None, extent: Extent) -> tuple[int, int]:
    """First and end refresh of the segment that two times, as written, enclose.

    An end beyond the capture is the end of the capture.
    Raises UsageError when the times are no times, or enclose nothing of the capture.
    """
    start_s = seconds_at(start, extent) if start else Fraction(0)
    end_s = seconds_at(end, extent) if end else None
    first = seconds_to_refresh(start_s, extent.refresh_hz)
    last = extent.refreshes
    if end_s is not None:
        last = min(seconds_to_refresh(end_s, extent.refresh_hz), last)
    if end_s is not None and end_s <= start_s:
        raise UsageError(f"segment must start before it ends, got {start or 0} to {end}; swap them")
    if first >= extent.refreshes:
        raise UsageError(
            f"segment must start inside the capture, got {start}; {length_in_words(extent)}"
        )
    if first >= last:
        raise UsageError(
            f"segment must hold the start of a refresh, got {start or 0} to {end}; "
            f"make it at least {float(1000 / extent.refresh_hz):.1f} ms long"
        )
    return first, last
