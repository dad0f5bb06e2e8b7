"""Parts of a capture in which every refresh changes, made from seams alone."""

from __future__ import annotations

import numpy as np

from pacerail.detect.part import Layout, Part, TearRows
from pacerail.region import Region

ROWS, PERIOD_ROWS, BANDS = 360, 375.0, 45

Seams = list[tuple[int, float]]
"""Place and row of each."""


def part_of(
    seams: Seams, refreshes: int, *, alone: float = 0.15, joint: float = 0.0, row_step: int = 1
) -> Part:
    """A part with seams of the given strengths, in pictures of so many times the rows."""
    columns = np.array(sorted(seams), float).reshape(-1, 2).T
    count = len(seams)
    return Part(
        layout=Layout(
            rows=ROWS * row_step,
            row_step=row_step,
            band_rows=np.arange(0.0, 8 * BANDS + 8, 8) * row_step,
            block=Region(0, 0, 0.025, 8 / ROWS),
        ),
        decided=slice(0, refreshes),
        refresh=np.arange(refreshes),
        pts=np.arange(refreshes),
        compared=np.ones(refreshes, bool),
        is_intra=np.zeros(refreshes, bool),
        is_bidirectional=np.zeros(refreshes, bool),
        quantiser_step=np.full(refreshes, np.nan),
        strongest=np.full(refreshes, 20.0),
        bands=np.full((refreshes, BANDS), 10, np.float16),
        sought=np.ones(refreshes, bool),
        motion_octaves=np.zeros((refreshes, BANDS), np.float16),
        edge_shift=np.zeros((refreshes, BANDS - 1), np.int8),
        extent=np.zeros((refreshes, 4), np.int16),
        tear_rows=TearRows(
            place=columns[0].astype(np.int64),
            row=columns[1],
            mirror_octaves=np.zeros(count),
            seam=np.full(count, alone),
            joint=np.full(count, joint),
            stands_out=np.zeros(count, bool),
        ),
    )
