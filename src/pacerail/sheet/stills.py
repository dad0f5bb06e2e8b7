"""Stills: one moment of every platform, as a picture."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from pacerail.choices import STILL_ARRANGEMENTS, STILL_FILTERS
from pacerail.region import Region
from pacerail.sheet.platforms import Platform
from pacerail.sheet.schema import ByPlatform, Entries, ForPlatforms, ListOf, Node, key
from pacerail.sheet.segments import check_platform
from pacerail.sheet.values import MOMENT, REGION, TEXT, Moment, choice, number, whole_number


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
        whole_number(1, 99), "Times to enlarge them.", default=None, otherwise="as far as fits"
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
        default=None,
        otherwise="the first",
    )

    @property
    def arrangement(self) -> str:
        """How the pictures share the page, whether told or not."""
        return self.arrange or ("zoom" if self.regions else "abreast")

    def take_of(self, platform: str) -> int:
        """Which capture of a platform is shown, counted from 0."""
        return (self.take or {}).get(platform, 1) - 1


def check_still(still: Still, node: Node, platforms: Mapping[str, Platform]) -> None:
    """Raise InputError where what a still says does not fit together."""
    document, path = node.document, node.path
    for field in ("at", "take"):
        named = node.value.get(field)
        for name in named if isinstance(named, dict) else ():
            check_platform(name, node, (*path, field, name), platforms)
    for name, take in (still.take or {}).items():
        if take > len(platforms[name].captures):
            raise document.error(
                (*path, "take", name),
                f"be one of the {len(platforms[name].captures)} captures of {name}",
                take,
                "count them from 1",
            )
    for name in platforms:
        if still.at.of(name) is None:
            raise document.error(
                (*path, "at"), f"have a time for {name}", node.value["at"], "add it"
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
