"""The edit sheet as a whole: read from a file, and checked where its parts meet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

from pacerail.sheet.document import Document, read_document
from pacerail.sheet.loads import Load, check_load
from pacerail.sheet.outputs import (
    KINDS,
    ComparisonOutput,
    LayoutOutput,
    Output,
    OverlayOutput,
    StripOutput,
)
from pacerail.sheet.platforms import Canvas, Platform, check_platform
from pacerail.sheet.schema import Entries, ListOf, Node, OneOf, TableOf, key, read_table
from pacerail.sheet.segments import AUTO, Segment, check_segment
from pacerail.sheet.stills import Still, check_still
from pacerail.sheet.values import SWITCH, TEXT, number

BOTH, NONE = "both", "none"
"""In place of the platform whose sound is heard."""


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """Everything that is made for one video."""

    document: Document = field(repr=False, compare=False)
    output: str = key(TEXT, "Folder for all that is made, relative to the sheet.")
    style: str = key(TEXT, "A shipped style, or the path of a style file.", default="quay")
    window: Fraction = key(
        number(0.05, 60, "1.0"),
        "Window of the rolling frame rate, in seconds.",
        default=Fraction(1),
        otherwise="1",
    )
    centred: bool = key(SWITCH, "Centre that window instead of trailing.", default=False)
    canvas: Canvas = key(
        TableOf(Canvas), "The picture of the video.", default=Canvas(), otherwise="its defaults"
    )
    platforms: Mapping[str, Platform] = key(
        Entries(TableOf(Platform), reserved=(AUTO, BOTH, NONE)),
        "One or two, in the order in which they are shown.",
    )
    segments: Mapping[str, Segment] = key(
        Entries(TableOf(Segment), reserved=("records", "draft", "stills", "loads")),
        "Stretches of footage, and what is made of each.",
        default={},
        otherwise="none",
    )
    loads: Mapping[str, Load] = key(
        Entries(TableOf(Load)),
        "Waits that are timed, see `pacerail loads`.",
        default={},
        otherwise="none",
    )
    stills: Mapping[str, Still] = key(
        Entries(TableOf(Still)),
        "Single moments as pictures, see `pacerail still`.",
        default={},
        otherwise="none",
    )
    outputs: tuple[Output, ...] = key(
        ListOf(OneOf(KINDS)),
        "What is made of every segment.",
        default=(),
        otherwise="nothing",
    )

    @property
    def folder(self) -> Path:
        """Where its paths start."""
        return self.document.path.parent

    def label_of(self, platform: str) -> str:
        """What people read of a platform."""
        return self.platforms[platform].label or platform


def load_sheet(path: Path) -> Sheet:
    """An edit sheet from a TOML file.

    Raises InputError with file, line and key of the first thing that is wrong with it.
    """
    document = read_document(path)
    node = Node(document, (), document.table)
    sheet = read_table(Sheet, node, document=document)
    if not 1 <= len(sheet.platforms) <= 2:
        raise document.error(
            ("platforms",), "hold one or two platforms", list(sheet.platforms), "add or remove some"
        )
    _check_outputs(sheet.outputs, node, sheet.platforms)
    for name, segment in sheet.segments.items():
        inside = node.child("segments").child(name)
        check_segment(segment, inside, sheet.platforms)
        _check_outputs(segment.outputs, inside, sheet.platforms)
    for name, load in sheet.loads.items():
        check_load(load, node.child("loads").child(name), sheet.platforms)
    for name, still in sheet.stills.items():
        check_still(still, node.child("stills").child(name), sheet.platforms)
    return sheet


def _check_outputs(
    outputs: tuple[Output, ...], node: Node, platforms: Mapping[str, Platform]
) -> None:
    for place, output in enumerate(outputs):
        at = node.child("outputs").child(place)
        if isinstance(output, (LayoutOutput, OverlayOutput)) and (
            output.codec == "prores" and output.quality == "lossless"
        ):
            raise node.document.error(
                (*at.path, "quality"),
                "be draft, standard or high for prores",
                "lossless",
                'choose the codec "ffv1" for a lossless file',
            )
        if _is_of_both(output) and len(platforms) < 2:
            raise node.document.error(
                at.path, "go with two platforms", list(platforms), "add the second one"
            )
        if isinstance(output, LayoutOutput) and output.audio not in (None, BOTH, NONE):
            check_platform(output.audio, at, (*at.path, "audio"), platforms)
        for number_, name in enumerate(getattr(output, "platforms", None) or ()):
            check_platform(name, at, (*at.path, "platforms", number_), platforms)


def _is_of_both(output: Output) -> bool:
    is_joint_strip = isinstance(output, StripOutput) and output.joined
    return is_joint_strip or isinstance(output, (LayoutOutput, ComparisonOutput))
