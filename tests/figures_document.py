"""The table of figures in README.md; run as a script it writes the table anew."""

from __future__ import annotations

from pathlib import Path

from pacerail.stats.figures import DEFINITIONS

DOCUMENT = Path(__file__).parent.parent / "README.md"
HEAD = "| figure | unit | definition |\n| --- | --- | --- |\n"


def table() -> str:
    """Every row of the table of figures, as Markdown."""
    rows = (f"| `{each.key}` | {each.unit} | {each.definition} |\n" for each in DEFINITIONS)
    return HEAD + "".join(rows)


def with_table(document: str) -> str:
    """The document with its table, which must be its last part, made anew."""
    return document[: document.index(HEAD)] + table()


if __name__ == "__main__":
    DOCUMENT.write_text(with_table(DOCUMENT.read_text("utf-8")), "utf-8")
