"""The file of a sheet and places in it, so that every error can say where to look."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path as FilePath
from typing import Any

from pacerail.errors import InputError, UsageError
from pacerail.sheet.lines import Path, key_lines

# Longer values are cut in messages, which are one line.
_SHOWN = 60


@dataclass(frozen=True, eq=False)
class Document:
    """A TOML file as it was read."""

    path: FilePath
    text: str
    table: dict[str, Any]

    @cached_property
    def _lines(self) -> dict[Path, int]:
        return key_lines(self.text)

    def line(self, path: Path) -> int:
        """Line on which a key stands, or else the innermost table around it that is there."""
        while path and path not in self._lines:
            path = path[:-1]
        return self._lines[path] if path else 1

    def place(self, path: Path) -> str:
        """``harbour.toml, line 12: segments.dash.in``."""
        return f"{self.path.name}, line {self.line(path)}: {dotted(path)}"

    def error(self, path: Path, rule: str, value: Any, advice: str) -> InputError:
        """An error about the key at `path`, which must keep to `rule`."""
        return InputError(f"{self.place(path)} must {rule}, got {shown(value)}; {advice}")

    @contextmanager
    def placing(self, path: Path) -> Iterator[None]:
        """Let what is wrong in this block be told as wrong at that key.

        Raises InputError.
        """
        try:
            yield
        except (UsageError, InputError) as error:
            raise InputError(f"{self.place(path)}: {error}") from error


def read_document(path: FilePath) -> Document:
    """A TOML file. Raises InputError when it cannot be read or is none."""
    try:
        text = path.read_bytes().decode("utf-8").replace("\r\n", "\n")
    except OSError as error:
        raise InputError(
            f"sheet must be a readable file, got {path}: {error.strerror or error}; "
            "check the path, or make one with: pacerail new"
        ) from error
    except UnicodeDecodeError as error:
        raise InputError(
            f"sheet must be UTF-8 text, got {path}: {error.reason} at byte {error.start}; "
            "save it as UTF-8"
        ) from error
    try:
        return Document(path, text, tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise _no_toml(path, text, str(error)) from error
    except RecursionError as error:
        raise InputError(
            f"{path.name} must be TOML that nests a few levels deep, got hundreds; flatten it"
        ) from error


def dotted(path: Path) -> str:
    """A path as it is written in the file: ``segments.dash.outputs[1].kind``."""
    text = ""
    for key in path:
        if isinstance(key, int):
            text += f"[{key + 1}]"
        else:
            bare = key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else json.dumps(key)
            text += f".{bare}" if text else bare
    return text


def shown(value: Any) -> str:
    """A value on one short line, written as in the file; None is nothing."""
    if value is None:
        return "nothing"
    text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= _SHOWN else text[: _SHOWN - 1] + "…"


def _no_toml(path: FilePath, text: str, reason: str) -> InputError:
    """What the parser says, with the line in question as it stands there."""
    found = re.search(r"\(at line (\d+), column \d+\)", reason)
    lines = text.rstrip("\n").split("\n")
    number = int(found[1]) if found else len(lines)
    reason = reason.split(" (at")[0]
    return InputError(
        f"{path.name}, line {number}: line must be TOML, "
        f"got {shown(lines[min(number, len(lines)) - 1].strip())} ({reason}); correct that line"
    )
