"""From a still, as the sheet has it, to the jobs of all that is made of its moment."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction

from pacerail.draw.style import Style
from pacerail.pipeline.job import Job, Work
from pacerail.pipeline.still_work import AlternateWork, PushWork, StepsWork, StillSide, StillWork
from pacerail.sheet.stills import Still

STILLS = "stills/"
"""Where stills lie in the folder of a build."""
RATE = Fraction(60)
"""Pictures a second of a clip where the sheet names no rate."""


def still_jobs(
    name: str,
    still: Still,
    sides: Mapping[str, StillSide],
    style: Style,
    rate: Fraction | None,
    folder: str,
) -> Iterator[Job]:
    """The page of a still, and the clips and counts that it asks for.

    sides : by platform, in the order in which they are shown.
    folder : of a draft; empty for the build itself.
    """

    def job(
        file: str,
        work: Work,
        about: str,
        shown: tuple[StillSide, ...],
        length_s: Fraction = Fraction(0),
        beside: tuple[str, ...] = (),
    ) -> Job:
        pictures = round(length_s * (rate or RATE)) + len(shown)
        needs = tuple(dict.fromkeys(side.record for side in shown))
        folder_ = f"{folder}{STILLS}"
        beside = tuple(folder_ + each for each in beside)
        return Job(folder_ + file, work, about, float(length_s), pictures, needs, beside)

    everyone = tuple(sides.values())
    page = StillWork(
        everyone,
        style,
        still.arrangement,
        still.regions,
        still.scale,
        still.filter,
        still.divider,
    )
    yield job(f"{name}.png", page, f"still {name}", everyone)
    if still.push is not None:
        told = still.push
        for platform in told.platforms or tuple(sides):
            side = sides[platform]
            push = PushWork(side, style, told.region, told.length, rate or RATE, told.filter)
            yield job(f"{name}.{platform}.push.mp4", push, f"push {name}", (side,), told.length)
    if still.alternate is not None:
        first, second = everyone
        length_s, interval_s = still.alternate.length, still.alternate.interval
        swap = AlternateWork((first, second), style, interval_s, length_s, rate or RATE)
        yield job(f"{name}.alternate.mp4", swap, f"both in turn, {name}", everyone, length_s)
    for platform, edge in still.steps.items():
        side, stem = sides[platform], f"{name}.{platform}.steps"
        count = StepsWork(side, style, edge)
        yield job(f"{stem}.png", count, f"steps {name}", (side,), beside=(f"{stem}.json",))
