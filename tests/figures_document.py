"""The tables of events and figures in README.md; run as a script it writes them anew."""

from __future__ import annotations

from pathlib import Path

from pacerail.stats.events import EVENT_DEFINITIONS
from pacerail.stats.figures import DEFINITIONS

DOCUMENT = Path(__file__).parent.parent / "README.md"
HEAD = "### All events\n"


def tables() -> str:
    """Every event and every figure, as Markdown."""
    return (
        f"{HEAD}\n| event | unit of size | definition |\n| --- | --- | --- |\n"
        + "".join(f"| {kind} | {unit} | {words} |\n" for kind, unit, words in EVENT_DEFINITIONS)
        + "\n### All figures\n\n| figure | unit | definition |\n| --- | --- | --- |\n"
        + "".join(f"| `{each.key}` | {each.unit} | {each.definition} |\n" for each in DEFINITIONS)
    )


def with_tables(document: str) -> str:
    """The document with its tables, which must be its last part, made anew."""
    return document[: document.index(HEAD)] + tables()


if __name__ == "__main__":
    DOCUMENT.write_text(with_tables(DOCUMENT.read_text("utf-8")), "utf-8")
