"""Facts as plain text, Markdown or JSON."""

from __future__ import annotations

import json
from collections.abc import Sequence

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
    lines = [f"# {title}", ""]
    lines += [f"- **{each.sentence}** {each.exact}; {_where(each)}" for each in facts]
    lines += ["", "| figure | value | unit | definition |", "| --- | ---: | --- | --- |"]
    lines += [
        f"| {each.key} | {value_text(each.value)} | {each.unit} | {each.definition} |"
        for each in figures
    ]
    return "\n".join(lines) + "\n"


def facts_as_json(facts: Sequence[Fact], figures: Sequence[Figure], title: str) -> str:
    """One object: ``title``, ``facts`` with all their times, ``figures``."""
    return (
        json.dumps(
            {
                "title": title,
                "facts": [
                    {
                        "topic": each.topic,
                        "sentence": each.sentence,
                        "exact": each.exact,
                        "times_s": [
                            [round(start, 9), round(end, 9)] for start, end in each.times_s
                        ],
                    }
                    for each in facts
                ],
                "figures": [
                    {
                        "figure": each.key,
                        "value": each.value,
                        "unit": each.unit,
                        "definition": each.definition,
                    }
                    for each in figures
                ],
            },
            indent=2,
            ensure_ascii=False,
        )
        + "\n"
    )


def _where(fact: Fact) -> str:
    stretches = [f"{format_clock(start)} to {format_clock(end)}" for start, end in fact.times_s]
    rest = len(stretches) - _LISTED
    return ", ".join(stretches[:_LISTED]) + (f" and {rest} more" if rest > 0 else "")
