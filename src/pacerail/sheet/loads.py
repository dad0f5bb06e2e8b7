"""Loads: pairs of moments on a platform, several takes each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pacerail.choices import MOMENT_KINDS, QUALITIES, RACE_LAYOUTS
from pacerail.sheet.platforms import Platform, check_platform
from pacerail.sheet.schema import ListOf, Node, TableOf, key, read_table
from pacerail.sheet.values import MOMENT, TEXT, Moment, choice, whole_number


@dataclass(frozen=True, kw_only=True)
class LoadPoint:
    """Where a load starts or ends."""

    near: Moment = key(MOMENT, "Time near which it lies.")
    kind: str | None = key(
        choice(*MOMENT_KINDS), "What happens there.", default=None, otherwise="the time itself"
    )


@dataclass(frozen=True)
class Point:
    """A time, or a table that names what happens near a time."""

    words: str = "a time, or a table { kind, near }"

    def read(self, node: Node) -> LoadPoint:
        """The point."""
        if isinstance(node.value, dict):
            return read_table(LoadPoint, node)
        return LoadPoint(near=MOMENT.read(node))


@dataclass(frozen=True, kw_only=True)
class LoadTake:
    """One run of a load."""

    platform: str = key(TEXT, "Platform that loads.")
    take: int = key(
        whole_number(1, 99), "Which of its captures it is in.", default=1, otherwise="the first"
    )
    start: LoadPoint = key(Point(), "When the clock starts: the refresh on screen then.")
    end: LoadPoint = key(Point(), "When the clock stops: the refresh on screen then.")


@dataclass(frozen=True, kw_only=True)
class LoadRace:
    """Both platforms load in one clip, first take against first take, as an MP4 in `loads`."""

    layout: str = key(
        choice(*RACE_LAYOUTS), "How the two share the canvas.", default=RACE_LAYOUTS[0]
    )
    decimals: int = key(whole_number(1, 2), "Digits after the point of its clocks.", default=1)
    style: str | None = key(
        TEXT,
        "A shipped style, or the path of a style file.",
        default=None,
        otherwise="that of the sheet",
    )
    quality: str = key(choice(*QUALITIES), "How well it is coded.", default="standard")


@dataclass(frozen=True, kw_only=True)
class Load:
    """A wait that is timed on every platform."""

    race: LoadRace | None = key(
        TableOf(LoadRace),
        "Let both platforms race in a clip; `{}` for one with the defaults.",
        default=None,
        otherwise="none",
    )
    takes: tuple[LoadTake, ...] = key(ListOf(TableOf(LoadTake), 1), "Every time it was recorded.")

    def first_take(self, platform: str) -> LoadTake | None:
        """The take of a platform that a race shows."""
        return next((take for take in self.takes if take.platform == platform), None)


def check_load(load: Load, node: Node, platforms: Mapping[str, Platform]) -> None:
    """Raise InputError where a take names what is not there."""
    for place, take in enumerate(load.takes):
        path = (*node.path, "takes", place)
        check_platform(take.platform, node, (*path, "platform"), platforms)
        captures = len(platforms[take.platform].captures)
        if take.take > captures:
            raise node.document.error(
                (*path, "take"),
                f"be one of the {captures} captures of {take.platform}",
                take.take,
                "count them from 1",
            )
    racing = [name for name in platforms if load.first_take(name)]
    if load.race and len(racing) < 2:
        raise node.document.error(
            (*node.path, "race"), "have takes of two platforms", racing, "add those of the other"
        )
