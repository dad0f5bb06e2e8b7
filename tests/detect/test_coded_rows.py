"""Seams of the coder's own are left out, and only those."""

import numpy as np
import pytest

from pacerail.detect.coded_rows import without_coded_rows
from pacerail.detect.part import TearRows

COUNT = 90


def seams(rows: np.ndarray, *, mirror_octaves: float = 0) -> TearRows:
    return TearRows(
        place=np.arange(len(rows)),
        row=rows.astype(float),
        mirror_octaves=np.full(len(rows), mirror_octaves),
        seam=np.full(len(rows), 0.2),
        joint=np.zeros(len(rows)),
        stands_out=np.ones(len(rows), bool),
    )


@pytest.mark.parametrize(("row_step", "beside"), [(1, 0), (3, 1), (3, -1)])
def test_seams_between_squares_of_the_coder_are_left_out(row_step: int, beside: int) -> None:
    rows = np.array([640, 672, 704])[np.arange(COUNT) % 3] + beside
    rows[::10] = 430
    assert without_coded_rows(seams(rows), row_step).row.tolist() == [430] * 9


def test_a_tear_that_stands_on_such_a_row_stays() -> None:
    assert len(without_coded_rows(seams(np.full(COUNT, 640)), 1).row) == COUNT


def test_tears_anywhere_stay() -> None:
    rows = np.random.default_rng(6).integers(1, 1080, COUNT)
    assert len(without_coded_rows(seams(rows), 1).row) == COUNT


def test_a_tear_that_a_mirror_shows_stays() -> None:
    rows = np.array([640, 672, 704])[np.arange(COUNT) % 3]
    assert len(without_coded_rows(seams(rows, mirror_octaves=1.2), 1).row) == COUNT
