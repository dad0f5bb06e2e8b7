"""Runs of places at which something holds."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray


def runs(flags: NDArray[Any]) -> list[tuple[int, int]]:
    """Half-open intervals in which flags, shape (n,), are set, in ascending order."""
    edges = np.flatnonzero(np.diff(flags.astype(np.int8), prepend=0, append=0))
    return list(zip(edges[0::2].tolist(), edges[1::2].tolist(), strict=True))
