"""Stills: one moment of every platform, as a picture and what else is made of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from pacerail.choices import MOST_SCALE, STILL_ARRANGEMENTS, STILL_FILTERS
from pacerail.region import Region
from pacerail.sheet.platforms import Platform, check_by_platform, check_platform
from pacerail.sheet.schema import ByPlatform, Entries, ForPlatforms, ListOf, Node, TableOf, key
from pacerail.sheet.values import (
    EDGE,
    INTERVAL,
    LENGTH,
    MOMENT,
    REGION,
    TEXT,
    Moment,
    choice,
    number,
    whole_number,
)


@dataclass(frozen=True, kw_only=True)
class StillPush:
    """A clip of each platform that moves from the full picture in to a part of it."""

    region: Region = key(REGION, "Where to.")
    platforms: tuple[str, ...] | None = key(
        ListOf(TEXT, 1),
        "Platforms that it is made of, each for itself.",
        default=None,
        otherwise="all",
    )
    length: Fraction = key(LENGTH, "Of the clip.", default=Fraction(3), otherwise="3")
    filter: str = key(
        choice(*STILL_FILTERS), "How its last picture is enlarged.", default=STILL_FILTERS[0]
    )


@dataclass(frozen=True, kw_only=True)
class StillAlternate:
    """A clip that shows both platforms in turn, in the same place."""

    interval: Fraction = key(
        INTERVAL, "How long each is shown, 0.2 or longer.", default=Fraction(1), otherwise="1"
    )
    length: Fraction = key(LENGTH, "Of the clip.", default=Fraction(6), otherwise="6")


@dataclass(frozen=True, kw_only=True)
class Still:
    """One moment of every platform at source pixels, as a PNG in `stills`."""

    at: ByPlatform[Moment] = key(ForPlatforms(MOMENT), "The moment: the refresh on screen then.")
    arrange: str | None = key(
        choice(*STILL_ARRANGEMENTS),
        "How the pictures share the page.",
        default=None,
        otherwise="zoom where there are regions, else abreast",
    )
    regions: tuple[Region, ...] = key(
        ListOf(REGION), "Parts to enlarge.", default=(), otherwise="none"
    )
    scale: int | None = key(
        whole_number(1, MOST_SCALE),
        "Times to enlarge them.",
        default=None,
        otherwise="as far as fits",
    )
    filter: str = key(choice(*STILL_FILTERS), "How pixels are enlarged.", default=STILL_FILTERS[0])
    divider: Fraction = key(
        number(0.05, 0.95, "0.5"),
        "Where the line of a split picture stands, as a share of its width.",
        default=Fraction(1, 2),
        otherwise="0.5",
    )
    style: str | None = key(
        TEXT,
        "A shipped style, or the path of a style file.",
        default=None,
        otherwise="that of the sheet",
    )
    take: Mapping[str, int] = key(
        Entries(whole_number(1, 99)),
        "Which of its captures a platform shows, counted from 1.",
        default={},
        otherwise="the first",
    )

    push: StillPush | None = key(
        TableOf(StillPush), "Also push in, in a clip.", default=None, otherwise="none"
    )
    alternate: StillAlternate | None = key(
        TableOf(StillAlternate),
        "Also show both in turn, in a clip; `{}` for one with the defaults.",
        default=None,
        otherwise="none",
    )
    steps: Mapping[str, tuple[Fraction, ...]] = key(
        Entries(EDGE),
        "Also count stair steps, by platform, along an edge with these ends in pixels.",
        default={},
        otherwise="none",
    )

    @property
    def arrangement(self) -> str:
        """How the pictures share the page, whether told or not."""
        return self.arrange or ("zoom" if self.regions else "abreast")

    def take_of(self, platform: str) -> int:
        """Which capture of a platform is shown, counted from 0."""
        return self.take.get(platform, 1) - 1


def check_still(still: Still, node: Node, platforms: Mapping[str, Platform]) -> None:
    """Raise InputError where what a still says does not fit together."""
    document, path = node.document, node.path
    check_by_platform(node, ("at", "steps"), still.take, platforms)
    for name in platforms:
        if still.at.of(name) is None:
            raise document.error(
                (*path, "at"), f"have a time for {name}", node.value["at"], "add it"
            )
    for number_, name in enumerate((still.push and still.push.platforms) or ()):
        check_platform(name, node, (*path, "push", "platforms", number_), platforms)
    if still.alternate and len(platforms) < 2:
        raise document.error(
            (*path, "alternate"), "go with two platforms", list(platforms), "add the second one"
        )
    if still.arrangement in ("split", "difference") and len(platforms) < 2:
        raise document.error(
            (*path, "arrange"),
            "be abreast or zoom where there is one platform",
            still.arrangement,
            "add the second one",
        )
    if (still.arrangement == "zoom") != bool(still.regions):
        raise document.error(
            (*path, "arrange" if still.arrange else "regions"),
            "be zoom where there are regions, and only there",
            still.arrange,
            "leave it out",
        )
