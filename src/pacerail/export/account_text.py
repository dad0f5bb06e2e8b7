"""Facts on several segments, or on two platforms beside each other, as one text."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from pacerail.export.facts_text import (
    clock_range,
    fact_object,
    facts_as_text,
    facts_object,
    json_text,
    markdown_list,
    markdown_table,
)
from pacerail.export.tables import differences_table
from pacerail.figure import Difference, Fact, Figure


@dataclass(frozen=True)
class Account:
    """What is told of one platform in a segment."""

    label: str
    """Name of the platform."""
    facts: tuple[Fact, ...]
    figures: tuple[Figure, ...]


@dataclass(frozen=True)
class Comparison:
    """What is told of two platforms beside each other; every fact has a time of each."""

    facts: tuple[Fact, ...]
    differences: tuple[Difference, ...]


@dataclass(frozen=True)
class SegmentAccount:
    """What is told of a segment."""

    name: str
    """Empty where it needs none, being the only one."""
    platforms: tuple[Account] | tuple[Account, Account]
    comparison: Comparison | None
    """None for one platform."""

    @property
    def title(self) -> str:
        """``Merle``, or ``Merle and Wren``."""
        return " and ".join(account.label for account in self.platforms)


def accounts_as_text(segments: Sequence[SegmentAccount]) -> str:
    """Facts as `facts_as_text` has them, under headings where there is more than one kind."""
    blocks = []
    for segment in segments:
        prefix = f"{segment.name}: " if segment.name else ""
        if segment.comparison is not None:
            lines = "".join(
                f"{each.sentence} [{each.exact}; {_where_each(each, segment)}]\n"
                for each in segment.comparison.facts
            )
            blocks.append(f"{prefix}{segment.title}\n{lines}")
        for account in segment.platforms:
            is_only = len(segments) == len(segment.platforms) == 1 and not segment.name
            heading = "" if is_only else f"{prefix}{account.label}\n"
            blocks.append(heading + facts_as_text(account.facts))
    return "\n".join(blocks)


def accounts_as_markdown(segments: Sequence[SegmentAccount]) -> str:
    """A heading for each segment, facts as lists, figures and differences as tables."""
    lines = [f"# {segments[0].title}"]
    for segment in segments:
        level = "#"
        if segment.name:
            level = "##"
            lines += ["", f"{level} {segment.name}"]
        lines += [""]
        if segment.comparison is None:
            account = segment.platforms[0]
            lines += [*markdown_list(account.facts), "", *markdown_table(account.figures)]
            continue
        lines += [
            f"- **{each.sentence}** {each.exact}; {_where_each(each, segment)}"
            for each in segment.comparison.facts
        ]
        lines += ["", *_differences(segment)]
        for account in segment.platforms:
            lines += ["", f"{level}# {account.label}", "", *markdown_list(account.facts)]
    return "\n".join(lines) + "\n"


def accounts_as_json(segments: Sequence[SegmentAccount]) -> str:
    """One object; of several segments, or named ones, with a list of them."""
    if len(segments) == 1 and not segments[0].name:
        return json_text(_object(segments[0]))
    told = [{"segment": each.name, **_object(each)} for each in segments]
    return json_text({"title": segments[0].title, "segments": told})


def _object(segment: SegmentAccount) -> dict[str, Any]:
    platforms = [facts_object(each.facts, each.figures, each.label) for each in segment.platforms]
    if segment.comparison is None:
        return platforms[0]
    return {
        "title": segment.title,
        "facts": [fact_object(each) for each in segment.comparison.facts],
        "differences": [
            {
                "figure": each.key,
                "first": each.first,
                "second": each.second,
                "difference": each.difference,
                "lower": each.lower,
                "upper": each.upper,
                "unit": each.unit,
                "definition": each.definition,
            }
            for each in segment.comparison.differences
        ],
        "platforms": platforms,
    }


def _differences(segment: SegmentAccount) -> list[str]:
    """Both figures, their difference and its interval, as a table in Markdown."""
    if segment.comparison is None:
        return []
    labels = [account.label.replace("|", r"\|") for account in segment.platforms]
    table = differences_table(segment.comparison.differences, *labels)
    return [
        f"| {' | '.join(table.header)} |",
        "| --- | ---: | ---: | ---: | ---: | ---: | --- | --- |",
        *(f"| {' | '.join(row)} |" for row in table.rows),
    ]


def _where_each(fact: Fact, segment: SegmentAccount) -> str:
    """``Merle 0:05.200 to 0:08.600, Wren 0:05.400 to 0:08.800``."""
    return ", ".join(
        f"{account.label} {clock_range(*times)}"
        for account, times in zip(segment.platforms, fact.times_s, strict=True)
    )
