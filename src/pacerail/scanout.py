"""The scan-out model: where in time the rows of one refresh lie.

A display sends ``total_lines`` lines per refresh, of which the first
``active_lines`` carry the picture. A flip that comes while row y is sent
therefore happened ``y / rows * active_lines / total_lines`` periods after the
refresh began.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

# Active lines -> total lines. CTA-861 for 480, 720, 1080 and 2160; VESA CVT reduced
# blanking for 1440 (read in the kernel's v4l2-dv-timings.h and drm_edid.c).
TOTAL_LINES = {480: 525, 720: 750, 1080: 1125, 1440: 1481, 2160: 2250}


@dataclass(frozen=True)
class ScanOut:
    """Line counts of a display mode; ``active_fraction`` is their ratio."""

    active_lines: int
    total_lines: int

    @property
    def active_fraction(self) -> float:
        """Share of the refresh period during which picture rows are sent."""
        return self.active_lines / self.total_lines


def scan_out_of_height(rows: int) -> ScanOut:
    """The mode a picture of that height was most likely scanned with.

    A height without a standard mode of its own is taken as a resized or cropped
    copy of a 24/25 mode, the ratio shared by all CTA-861 modes from 720 lines up.
    """
    total = TOTAL_LINES.get(rows)
    return ScanOut(rows, total) if total else ScanOut(24, 25)


def flip_refreshes(
    refresh: NDArray[np.int64], tear_row: NDArray[np.float64], rows: int, scan_out: ScanOut
) -> NDArray[np.float64]:
    """Moment of each flip, in refresh periods from the start of refresh 0.

    refresh, tear_row : shape (m,); row 0 means the whole refresh shows the new frame.
    rows : height of the picture that the tear rows refer to.
    """
    return refresh + tear_row / rows * scan_out.active_fraction
