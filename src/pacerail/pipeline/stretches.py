"""Which part of each capture a segment shows, in exact time."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from pacerail.extent import Extent, Prospect, refresh_at, seconds_at
from pacerail.pipeline.ingredients import Take
from pacerail.pipeline.works import AlignWork
from pacerail.sheet.lines import Path
from pacerail.sheet.segments import AUTO, leading_platform
from pacerail.sheet.sheet import Sheet
from pacerail.sheet.values import Moment
from pacerail.timebase import format_clock


@dataclass(frozen=True)
class Stretches:
    """Start and length of a segment on every platform, counted from its first picture."""

    start_s: Mapping[str, Fraction]
    length_s: Mapping[str, Fraction]
    follower: str | None = None
    """Platform whose start lacks an offset that has yet to be found."""
    alignment: AlignWork | None = None
    """What finds it."""


def stretches_of(
    sheet: Sheet,
    name: str,
    takes: Mapping[str, Take],
    prospect_of: Callable[[Take], Prospect],
) -> Stretches:
    """Where a segment lies in the takes of its platforms.

    Raises InputError with file, line and key for times that are not in the captures.
    """
    segment = sheet.segments[name]
    clocks = {each: prospect_of(take) for each, take in takes.items()}

    def seconds(field: str, moment: Moment, platform: str, *, inside: bool) -> Fraction:
        with sheet.document.placing(_place(sheet, name, field, platform)):
            if inside:
                refresh_at(moment.text, clocks[platform])
            return seconds_at(moment.text, clocks[platform])

    def starts_and_lengths(platform: str) -> tuple[Fraction, Fraction]:
        moment = segment.start.of(platform)
        assert moment is not None, "the sheet was checked"
        start_s = seconds("in", moment, platform, inside=True)
        end = segment.end.of(platform) if segment.end else None
        if end is None:
            assert segment.length is not None, "the sheet was checked"
            return start_s, segment.length
        end_s = seconds("out", end, platform, inside=False)
        if end_s <= start_s:
            raise sheet.document.error(
                _place(sheet, name, "out", platform),
                f"come after in, {moment.text}",
                end.text,
                "swap them or correct one",
            )
        return start_s, end_s - start_s

    if segment.sync is None:
        found = {platform: starts_and_lengths(platform) for platform in takes}
        return Stretches(
            {platform: start_s for platform, (start_s, _) in found.items()},
            {platform: length_s for platform, (_, length_s) in found.items()},
        )
    leader = leading_platform(segment, sheet.platforms)
    follower = next(platform for platform in takes if platform != leader)
    start_s, length_s = starts_and_lengths(leader)
    lengths_s = dict.fromkeys(takes, length_s)
    if segment.sync == AUTO or isinstance(segment.sync, str):
        return Stretches(
            dict.fromkeys(takes, start_s),
            lengths_s,
            follower,
            AlignWork(takes[leader], takes[follower], start_s),
        )
    sync_s = {
        platform: seconds("sync", moment, platform, inside=True)
        for platform, moment in segment.sync.items()
    }
    follows_s = start_s + sync_s[follower] - sync_s[leader]
    _check_inside(sheet, name, follower, follows_s, clocks[follower])
    return Stretches({leader: start_s, follower: follows_s}, lengths_s)


def _check_inside(
    sheet: Sheet, name: str, platform: str, start_s: Fraction, extent: Extent
) -> None:
    if not 0 <= start_s < extent.refreshes / extent.refresh_hz:
        raise sheet.document.error(
            ("segments", name, "sync"),
            f"let the segment start inside the capture of {platform}",
            f"{'-' if start_s < 0 else ''}{format_clock(abs(float(start_s)))}",
            "move in, or correct the moments that coincide",
        )


def _place(sheet: Sheet, name: str, field: str, platform: str) -> Path:
    """The key of a time: that of the platform, or the one that all share."""
    written = sheet.document.table["segments"][name][field]
    tail = (platform,) if isinstance(written, dict) else ()
    return ("segments", name, field, *tail)
