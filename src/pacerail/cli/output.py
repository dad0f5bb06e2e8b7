"""Where outputs go: text to standard output or whole into a file, nothing over what is read."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import wraps
from pathlib import Path
from typing import Any, TextIO

from pacerail.errors import UsageError
from pacerail.files import atomic_output


def sparing_inputs(callback: Callable[..., Any]) -> Callable[..., Any]:
    """A command that refuses to write a file over one of those that it reads."""

    @wraps(callback)
    def spared(**given: Any) -> Any:
        output = given.get("output")
        if "overwrite" in given and output is not None and output.exists():
            for value in (each for name, each in given.items() if name != "output"):
                for path in value if isinstance(value, tuple) else (value,):
                    if isinstance(path, Path) and path.exists() and path.samefile(output):
                        raise UsageError(
                            f"output must not be what is read, got {output}; name another file"
                        )
        return callback(**given)

    return spared


@contextmanager
def text_output(path: Path | None, *, overwrite: bool) -> Iterator[TextIO]:
    """Stream that does not translate line ends; a file appears only when the block ends well."""
    if path is None:
        yield sys.stdout
        return
    with (
        atomic_output(path, overwrite=overwrite) as part,
        part.open("w", encoding="utf-8", newline="") as stream,
    ):
        yield stream
