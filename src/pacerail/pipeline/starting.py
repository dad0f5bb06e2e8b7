"""From captures to a new edit sheet that uses them."""

from __future__ import annotations

import os
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

from pacerail.errors import UsageError
from pacerail.files import atomic_output, check_writable
from pacerail.pipeline.measuring import prospect_of
from pacerail.sheet.starter import Found, starter_text


def write_starter(captures: Sequence[Path], output: Path, *, overwrite: bool = False) -> None:
    """Write a commented sheet for one capture, or for two that are compared.

    Raises UsageError for another number of captures, InputError for a file that is none.
    """
    if not 1 <= len(captures) <= 2:
        raise UsageError(
            f"new must be given one or two captures, one for each platform, got {len(captures)}; "
            "further takes go into the sheet"
        )
    if output.suffix != ".toml":
        raise UsageError(f"sheet must be named .toml, got {output.name}; change the name")
    check_writable(output, overwrite=overwrite)
    found = []
    for capture in captures:
        prospect = prospect_of(capture)
        length_s = Fraction(prospect.refreshes) / prospect.refresh_hz
        path = os.path.relpath(capture, output.parent)
        found.append(Found(Path(path).as_posix(), capture.stem, length_s))
    with atomic_output(output, overwrite=overwrite) as part:
        part.write_text(starter_text(found, output.name, output.stem), encoding="utf-8")
