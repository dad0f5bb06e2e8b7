"""The words a user chooses from, kept in one place for commands, edit sheets and stages."""

from __future__ import annotations

from fractions import Fraction

from pacerail.errors import UsageError

LAYOUTS = ("abreast", "stacked", "split", "inset", "first", "second")
"""Side by side; one above the other; one picture cut by a line; the second small on the
first; the first or the second alone, under the graphics of both."""

RACE_LAYOUTS = ("abreast", "stacked")
"""Those in which each platform has a place of its own."""

CODECS = ("h264", "hevc", "prores", "ffv1")
"""Of footage."""
ALPHA_CODECS = ("prores", "animation", "png", "vp9")
"""Of the overlay alone."""
QUALITIES = ("draft", "standard", "high", "lossless")
"""Of footage, for any codec."""

TABLES_WITH_TIMECODE = ("refreshes", "frames", "rates", "events")
TABLES = (*TABLES_WITH_TIMECODE, "cadence", "summary", "definitions")
"""Of one record."""
COMPARISON = "comparison"
"""The table of two records."""
FACTS_FORMATS = ("text", "markdown", "json")
MARKERS_FORMATS = ("webvtt", "otio")
LOADS_FORMATS = ("text", "markdown", "json", "csv")
MOMENT_KINDS = (
    "cut",
    "black_start",
    "black_end",
    "white_start",
    "white_end",
    "fade_start",
    "fade_end",
    "still_start",
    "still_end",
    "sound_start",
    "sound_end",
)
"""What can happen in a capture, see `moments.moment`."""
DRAWING_FORMATS = ("png", "svg", "pdf")


def parse_share(text: str) -> Fraction:
    """Share from ``0.5`` or ``1/2``, between 0 and 1. Raises UsageError on anything else."""
    try:
        share = Fraction(text.strip())
    except (ValueError, ZeroDivisionError):
        share = Fraction(0)
    if not 0 < share < 1:
        raise UsageError(
            "divider must stand between 0 and 1 of the picture's width, "
            f"got {text!r}; write for example 0.5"
        )
    return share


STILL_ARRANGEMENTS = ("abreast", "split", "zoom", "difference")
"""Whole pictures side by side; cut by a line; with regions enlarged below; what differs."""
STILL_FILTERS = ("nearest", "linear", "cubic")
"""How source pixels are enlarged: as exact cells, or smoothly."""
MOST_SCALE = 99
"""Times that a part of a still is enlarged."""
MOST_CYCLES_HZ = 3
"""Of two pictures in turn: WCAG 2.x, success criterion 2.3.1, allows three flashes in a second,
and a full cycle must stay below that."""


def check_interval(interval_s: Fraction) -> None:
    """Raise UsageError where two pictures in turn, each shown that long, would flash."""
    if interval_s <= 0 or 1 / (2 * interval_s) >= MOST_CYCLES_HZ:
        raise UsageError(
            f"interval must keep the alternation below {MOST_CYCLES_HZ} cycles a second "
            f"(WCAG 2.3.1, flashes), got {float(interval_s):g} s; make it 0.2 s or longer"
        )
