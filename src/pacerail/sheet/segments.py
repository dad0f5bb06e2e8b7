"""Segments: named stretches of one or two captures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from pacerail.sheet.outputs import KINDS, Output
from pacerail.sheet.platforms import Platform, check_by_platform
from pacerail.sheet.schema import ByPlatform, Entries, ForPlatforms, ListOf, Node, OneOf, key
from pacerail.sheet.values import LENGTH, MOMENT, Moment, whole_number

AUTO = "auto"
"""In place of moments that coincide: find them."""


@dataclass(frozen=True)
class Sync:
    """`auto`, or a table of platforms with the moment of each that coincides."""

    words: str = f'"{AUTO}", or a table of platforms with a time for each'

    def read(self, node: Node) -> Mapping[str, Moment] | str:
        """The moments, or AUTO."""
        if node.value == AUTO:
            return AUTO
        if not isinstance(node.value, dict):
            raise node.error(f"be {self.words}", f'write "{AUTO}" or name both platforms')
        return Entries(MOMENT).read(node)


@dataclass(frozen=True, kw_only=True)
class Segment:
    """A stretch of every platform's capture, and what is made of it."""

    start: ByPlatform[Moment] = key(
        ForPlatforms(MOMENT),
        "Where it starts. With `sync`, of one platform only (the first, unless named): the "
        "other starts where it shows the same.",
        name="in",
    )
    end: ByPlatform[Moment] | None = key(
        ForPlatforms(MOMENT),
        "Where it ends. With `sync`, of the same platform as `in`; both are then as long.",
        name="out",
        default=None,
        otherwise="`length`",
    )
    length: Fraction | None = key(
        LENGTH,
        "How long it is on every platform, in place of `out`.",
        default=None,
        otherwise="`out`",
    )
    sync: Mapping[str, Moment] | str | None = key(
        Sync(),
        "Moments of both platforms that coincide; `auto` finds the same content, near `in` of the "
        "first platform.",
        default=None,
        otherwise="`in` alone decides",
    )
    take: Mapping[str, int] = key(
        Entries(whole_number(1, 99)),
        "Which of its captures a platform shows, counted from 1.",
        default={},
        otherwise="the first",
    )
    outputs: tuple[Output, ...] = key(
        ListOf(OneOf(KINDS)),
        "What is made of it, besides what is made of every segment.",
        default=(),
        otherwise="nothing",
    )

    def take_of(self, platform: str) -> int:
        """Which capture of a platform is shown, counted from 0."""
        return self.take.get(platform, 1) - 1


def check_segment(segment: Segment, node: Node, platforms: Mapping[str, Platform]) -> None:
    """Raise InputError where what a segment says does not fit together."""
    document, path = node.document, node.path
    check_by_platform(node, ("in", "out", "sync"), segment.take, platforms)
    if (segment.end is None) == (segment.length is None):
        got = None if segment.end is None else node.value["length"]
        raise document.error(
            (*path, "out" if segment.end is None else "length"),
            "be given where the other of out and length is not",
            got,
            "give one of the two",
        )
    if segment.sync is None:
        _check_complete(segment, node, platforms)
    else:
        _check_synced(segment, node, platforms)


def _check_complete(segment: Segment, node: Node, platforms: Mapping[str, Platform]) -> None:
    for field, times in (("in", segment.start), ("out", segment.end)):
        for name in platforms:
            if times is not None and times.of(name) is None:
                raise node.document.error(
                    (*node.path, field),
                    f"have a time for {name}",
                    node.value[field],
                    "add it, or tell by sync which moments coincide",
                )


def _check_synced(segment: Segment, node: Node, platforms: Mapping[str, Platform]) -> None:
    document, path = node.document, node.path
    if len(platforms) < 2:
        raise document.error(
            (*path, "sync"), "go with two platforms", node.value["sync"], "leave it out"
        )
    if isinstance(segment.sync, Mapping):
        for name in platforms:
            if name not in segment.sync:
                raise document.error(
                    (*path, "sync"), f"have a time for {name}", node.value["sync"], "add it"
                )
    leader = leading_platform(segment, platforms)
    for field, times in (("in", segment.start), ("out", segment.end)):
        if times is not None and times.shared is None and list(times.own) != [leader]:
            raise document.error(
                (*path, field),
                f"have a time for {leader} alone where sync is given",
                node.value[field],
                "the other platform follows from sync; leave it out",
            )


def leading_platform(segment: Segment, platforms: Mapping[str, Platform]) -> str:
    """The platform whose `in` and `out` decide where the other follows by sync."""
    return next(iter(segment.start.own), next(iter(platforms)))
