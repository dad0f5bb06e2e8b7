"""Writing files so that nobody ever sees half of one."""

from __future__ import annotations

import glob
import os
import secrets
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from pacerail.errors import OutputError, UsageError

# Stem, eight digits and suffix of a file that is not whole yet.
_PART = ".{}.{}.part{}"


def check_writable(path: Path, *, overwrite: bool) -> None:
    """Raise before any work is done if `path` cannot become an output.

    Raises UsageError when it exists and `overwrite` is not set, OutputError when its
    folder is missing or it is a folder itself.
    """
    if not path.parent.is_dir():
        raise OutputError(
            f"output folder must exist, got {path.parent}; make it first or name another"
        )
    if path.is_dir():
        raise OutputError(f"output must be a file, got the folder {path}; add a file name")
    if path.exists() and not overwrite:
        raise UsageError(f"output must not exist yet, got {path}; pass --overwrite to replace it")


def clear_parts(path: Path) -> None:
    """Remove what a killed process left half written beside `path`; nobody may be writing it."""
    pattern = _PART.format(glob.escape(path.stem), "?" * 8, glob.escape(path.suffix))
    for part in path.parent.glob(pattern):
        _remove(part)


@contextmanager
def atomic_output(path: Path, *, overwrite: bool) -> Iterator[Path]:
    """Temporary path beside `path`, renamed to it when the block ends well.

    The block may make the temporary a file or a folder. On any exception, Ctrl-C
    included, the temporary is removed and an existing `path` stays as it was.
    """
    check_writable(path, overwrite=overwrite)
    part = path.with_name(_PART.format(path.stem, secrets.token_hex(4), path.suffix))
    try:
        yield part
        os.replace(part, path)
    except OSError as error:
        if isinstance(error, OutputError) or error.errno is None:
            raise
        raise OutputError(
            f"output must be writable, got {path}: {error.strerror or error}; "
            "free some space or name another place"
        ) from error
    finally:
        _remove(part)


def _remove(part: Path) -> None:
    if part.is_dir():
        shutil.rmtree(part, ignore_errors=True)
    else:
        part.unlink(missing_ok=True)
