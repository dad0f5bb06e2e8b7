"""Facts as plain text, Markdown or JSON."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from pacerail.export.tables import value_text
from pacerail.figure import Fact, Figure
from pacerail.timebase import format_clock

# Times beyond this many are counted, not printed; JSON holds them all.
_LISTED = 3


def facts_as_text(facts: Sequence[Fact]) -> str:
    """One line for each fact: the sentence, the exact numbers in brackets, the times."""
    return "".join(f"{each.sentence} [{each.exact}; {_where(each)}]\n" for each in facts)


def facts_as_markdown(facts: Sequence[Fact], figures: Sequence[Figure], title: str) -> str:
    """A heading, the facts as a list, and the figures with their definitions as a table."""
    lines = [f"# {title}", "", *markdown_list(facts), "", *markdown_table(figures)]
    return "\n".join(lines) + "\n"


def markdown_list(facts: Sequence[Fact]) -> list[str]:
    """A line for each fact."""
    return [f"- **{each.sentence}** {each.exact}; {_where(each)}" for each in facts]


def markdown_table(figures: Sequence[Figure]) -> list[str]:
    """The lines of a table, a row for each figure."""
    return [
        "| figure | value | unit | definition |",
        "| --- | ---: | --- | --- |",
        *(
            f"| {each.key} | {value_text(each.value)} | {each.unit} | {each.definition} |"
            for each in figures
        ),
    ]


def facts_as_json(facts: Sequence[Fact], figures: Sequence[Figure], title: str) -> str:
    """One object: ``title``, ``facts`` with all their times, ``figures``."""
    return json_text(facts_object(facts, figures, title))


def facts_object(facts: Sequence[Fact], figures: Sequence[Figure], title: str) -> dict[str, Any]:
    """The same as plain dictionaries and lists."""
    return {
        "title": title,
        "facts": [fact_object(each) for each in facts],
        "figures": [
            {
                "figure": each.key,
                "value": each.value,
                "unit": each.unit,
                "definition": each.definition,
            }
            for each in figures
        ],
    }


def fact_object(fact: Fact) -> dict[str, Any]:
    """One fact with all its times, to the nanosecond."""
    return {
        "topic": fact.topic,
        "sentence": fact.sentence,
        "exact": fact.exact,
        "times_s": [[round(start, 9), round(end, 9)] for start, end in fact.times_s],
    }


def json_text(told: Any) -> str:
    """JSON for people to read, which ends with an end of line."""
    return json.dumps(told, indent=2, ensure_ascii=False) + "\n"


def clock_range(start_s: float, end_s: float) -> str:
    """``0:05.200 to 0:08.600``."""
    return f"{format_clock(start_s)} to {format_clock(end_s)}"


def _where(fact: Fact) -> str:
    stretches = [clock_range(start, end) for start, end in fact.times_s]
    rest = len(stretches) - _LISTED
    return ", ".join(stretches[:_LISTED]) + (f" and {rest} more" if rest > 0 else "")
