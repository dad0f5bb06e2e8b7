"""The drawing library, loaded when the first thing is drawn."""

from __future__ import annotations

import functools
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
