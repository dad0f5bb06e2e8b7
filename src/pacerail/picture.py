"""One decoded image of a capture, as the detector sees it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Luma = NDArray[np.uint8] | NDArray[np.uint16]


@dataclass(frozen=True, eq=False)
class Picture:
    """Luma of one refresh, with what the container and codec say about it."""

    refresh: int
    """Index on the refresh grid; a jump means refreshes that the recording lost."""
    pts: int
    """Presentation time stamp in ticks of the stream's time base."""
    luma: Luma
    """Shape (rows, columns); a view that must not be written to."""
    bit_depth: int
    """Significant bits of a luma sample: 8, 10 or 12."""
    picture_type: str
    """``I``, ``P`` or ``B`` as coded, ``?`` where the codec does not say."""
    is_corrupt: bool
    """True where the decoder concealed damage."""
    quantiser_step: float = math.nan
    """Step of the quantiser in 8-bit code values; not a number where nothing tells."""
    owner: Any = None
    """Whatever must stay alive for `luma` to stay valid."""
