"""Text goes to standard output, or whole into a file."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TextIO

from pacerail.files import atomic_output


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
