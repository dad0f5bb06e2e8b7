"""The drawing library, loaded when the first thing is drawn."""

from __future__ import annotations

import functools
import os
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from pacerail.errors import InputError


@functools.cache
def load_skia() -> Any:
    """The `skia` module.

    Raises InputError when the system libraries that it links to are missing.
    """
    try:
        import skia
    except ImportError as error:
        raise InputError(
            f"drawing must find the system libraries of Skia, got {error}; "
            "type: sudo apt-get install libegl1 libgl1 libexpat1"
        ) from error
    return skia


@functools.cache
def machine_fonts() -> Any:
    """The fonts of this machine, looked for when a label first needs one of them.

    What is wrong with the machine's font settings is not the user's concern here, and the
    library that reads them says it straight to the standard error of the process.
    """
    skia = load_skia()
    with _muted_errors():
        manager = skia.FontMgr()
        manager.countFamilies()
    return manager


@contextmanager
def _muted_errors() -> Iterator[None]:
    """Send what the process writes to its standard error nowhere."""
    kept = os.dup(2)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(nowhere)
        os.close(kept)
