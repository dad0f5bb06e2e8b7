"""A sheet to start from, with the captures in place and a comment where there is a choice."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from pacerail.timebase import format_clock

# Of the segment that a new sheet has: enough to look at, quick to make. (Our choice.)
_LONGEST_S = Fraction(10)

_HEAD = """\
# An edit sheet. See what it would make:  pacerail build {file} --check
# Try it at a quarter of the pixels:      pacerail build {file} --draft
# Make it:                                pacerail build {file}
# Paths are relative to this file. Times are seconds, mm:ss.mmm, hh:mm:ss.mmm or
# timecode, counted from the first picture of a capture.

output = {output}
style = "quay"            # a shipped style (pacerail styles), or the path of a style file

[canvas]
size = "1920x1080"
# rate = 60               # pictures a second; else those of the captures
"""

_PLATFORM = """
[platforms.{name}]
label = {label}
captures = [{capture}]  # one for each take
# target_fps = 60         # else inferred
# ignore = [[0.8, 0, 0.2, 0.1]]   # x, y, width, height of what does not count
"""

_OUTPUTS = """
# What is made of every segment.
[[outputs]]
kind = "facts"

[[outputs]]
kind = "overlay"

[[outputs]]
kind = "csv"
tables = ["summary", "frames"]
"""

_JOINT = """
[[outputs]]
kind = "layout"
layout = "abreast"        # or stacked, split, inset, first, second

[[outputs]]
kind = "comparison"

[[outputs]]
kind = "strip"
joined = true
"""

_SEGMENT = """
# One table for each segment; its name becomes a folder.
[segments.opening]
in = "0"                  # on every platform, or a time for each{example}
length = "{length}"       # or out, written as in
"""

_SYNC = """\
# sync = "auto"           # in is of {first}; {second} starts where it shows the same
"""


@dataclass(frozen=True)
class Found:
    """A capture that a sheet is to be made for."""

    path: str
    """Relative to the sheet."""
    stem: str
    length_s: Fraction


def starter_text(captures: Sequence[Found], file: str, output: str) -> str:
    """The text of a valid sheet for one capture, or for two that are compared.

    file : name of the sheet. output : its folder.
    """
    names: list[str] = []
    for capture in captures:
        names.append(_name(capture.stem, names))
    text = _HEAD.format(file=file, output=_quoted(output))
    for name, capture in zip(names, captures, strict=True):
        text += _PLATFORM.format(
            name=name, label=_quoted(capture.stem), capture=_quoted(capture.path)
        )
    text += _OUTPUTS
    is_joint = len(captures) == 2
    if is_joint:
        text += _JOINT
    length_s = min(_LONGEST_S, min(capture.length_s for capture in captures))
    each = ", ".join(f'{name} = "0"' for name in names)
    example = f": {{ {each} }}" if is_joint else ""
    text += _SEGMENT.format(length=format_clock(float(length_s)), example=example)
    if is_joint:
        text += _SYNC.format(first=names[0], second=names[1])
    return text


def _name(stem: str, taken: Sequence[str]) -> str:
    """A name for a platform, from that of its file."""
    base = re.sub(r"[^a-z0-9]+", "-", stem.lower()).strip("-") or "platform"
    if base in ("auto", "both", "none"):
        base += "-1"
    name, number = base, 2
    while name in taken:
        name, number = f"{base}-{number}", number + 1
    return name


def _quoted(text: str) -> str:
    """A TOML string; it has the escapes of JSON, and asks for one more."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
