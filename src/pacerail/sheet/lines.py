"""On which line of a TOML text each key stands, which the parser itself does not tell."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

Path = tuple[str | int, ...]
"""Keys, and places in lists, from the top of a document down to a value."""


def key_lines(text: str) -> dict[Path, int]:
    """Line, counted from 1, of every key of a valid TOML text.

    A table stands where it is first named, all of a list or an inline table where its
    statement starts.
    """
    lines: dict[Path, int] = {}
    lengths: dict[Path, int] = {}
    table: Path = ()
    for line, statement, parsed in _statements(text):
        if statement.lstrip().startswith("["):
            table = _opened(parsed, lengths)
            for depth in range(1, len(table) + 1):
                lines.setdefault(table[:depth], line)
        else:
            for path in _paths(parsed):
                lines.setdefault((*table, *path), line)
    return lines


def _statements(text: str) -> Iterator[tuple[int, str, dict[str, Any]]]:
    """Every header and every assignment: its first line, its text, and what it says alone.

    A statement that goes on over several lines makes no sense until its last one.
    """
    first, collected = 1, ""
    for number, line in enumerate(text.split("\n"), 1):
        collected += line + "\n"
        try:
            parsed = tomllib.loads(collected)
        except tomllib.TOMLDecodeError:
            continue
        yield first, collected, parsed
        first, collected = number + 1, ""


def _opened(parsed: Mapping[str, Any], lengths: dict[Path, int]) -> Path:
    """The table that a header opens; `lengths` counts the lists of tables met so far."""
    path: Path = ()
    value: Any = parsed
    while value:
        is_new_item = isinstance(value, list)
        if is_new_item:
            lengths[path] = lengths.get(path, 0) + 1
            value = value[0]
        if path in lengths:
            path = (*path, lengths[path] - 1)
        if value:
            (key,) = value
            path, value = (*path, key), value[key]
    return path


def _paths(value: Any, path: Path = ()) -> Iterator[Path]:
    """Every key of tables within tables, and every item of lists."""
    items: Any = ()
    if isinstance(value, dict):
        items = value.items()
    elif isinstance(value, list):
        items = enumerate(value)
    for key, inner in items:
        yield (*path, key)
        yield from _paths(inner, (*path, key))
