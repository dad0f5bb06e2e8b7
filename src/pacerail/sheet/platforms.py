"""The canvas, and the platforms that are compared."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from pacerail.region import Region
from pacerail.sheet.lines import Path
from pacerail.sheet.schema import ListOf, Node, key
from pacerail.sheet.values import CANVAS, RATE, REGION, TEXT


@dataclass(frozen=True, kw_only=True)
class Canvas:
    """The picture of the video that is made."""

    size: tuple[int, int] = key(
        CANVAS, "Width and height of layouts.", default=(1920, 1080), otherwise='"1920x1080"'
    )
    rate: Fraction | None = key(
        RATE,
        "Pictures a second of all clips.",
        default=None,
        otherwise="that of the capture, the higher of two",
    )


@dataclass(frozen=True, kw_only=True)
class Platform:
    """One of the things compared."""

    label: str | None = key(TEXT, "What people read.", default=None, otherwise="its name")
    captures: tuple[str, ...] = key(
        ListOf(TEXT, 1), "Its captures, one for each take; paths are relative to the sheet."
    )
    refresh_hz: Fraction | None = key(
        RATE, "Refresh rate.", default=None, otherwise="found in the capture"
    )
    target_fps: Fraction | None = key(
        RATE, "Frame rate that the program aims at.", default=None, otherwise="inferred"
    )
    watch: Region | None = key(
        REGION,
        "The only part of the picture that counts, as fractions of it.",
        default=None,
        otherwise="all of it",
    )
    ignore: tuple[Region, ...] = key(
        ListOf(REGION), "Parts of the picture that do not count.", default=(), otherwise="none"
    )


def check_platform(name: object, node: Node, path: Path, platforms: Mapping[str, Platform]) -> None:
    """Raise InputError unless there is a platform of that name."""
    if name not in platforms:
        raise node.document.error(
            path, f"name a platform ({', '.join(platforms)})", name, "correct the name"
        )


def check_by_platform(
    node: Node,
    fields: Sequence[str],
    take: Mapping[str, int],
    platforms: Mapping[str, Platform],
) -> None:
    """Raise InputError unless what is given by platform names platforms and takes of them.

    fields : keys of `node` besides `take` that may hold a table by platform.
    """
    for field in (*fields, "take"):
        named = node.value.get(field)
        for name in named if isinstance(named, dict) else ():
            check_platform(name, node, (*node.path, field, name), platforms)
    for name, number in take.items():
        captures = len(platforms[name].captures)
        if number > captures:
            raise node.document.error(
                (*node.path, "take", name),
                f"be one of the {captures} captures of {name}",
                number,
                "count them from 1",
            )
