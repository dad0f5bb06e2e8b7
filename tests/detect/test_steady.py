"""Tears at one row in every refresh, found from seams that come by chance as well."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from pacerail.detect.steady import LONGEST_GAP, steady_tears
from tests.detect.seam_part import BANDS, ROWS, Seams, part_of

REFRESHES = 200
CHANGED = np.full((REFRESHES, BANDS), 4.0)
JOINT = 0.12


def found(seams: Seams, evidence: NDArray[np.float64] = CHANGED) -> NDArray[np.float64]:
    """Rows of the tears that are found where the seams join better."""
    n = len(evidence)
    return steady_tears(part_of(seams, n, joint=JOINT), evidence, np.zeros(n, bool))


def by_chance(seed: int = 5) -> Seams:
    """Two seams in each refresh at any rows."""
    random = np.random.default_rng(seed)
    return [
        (place, float(row)) for place in range(REFRESHES) for row in random.integers(0, ROWS, 2)
    ]


def standing(row: float, drift: float = 0.0, every: int = 2, end: int = REFRESHES) -> Seams:
    """Seams of a tear that one in so many refreshes shows."""
    return [(place, round(row + drift * place)) for place in range(1, end, every)]


@pytest.mark.parametrize("drift", [0.0, 0.1, -0.15])
def test_a_tear_that_stands_is_told_in_every_refresh(drift: float) -> None:
    rows = found([*by_chance(), *standing(150, drift)])
    place = np.arange(REFRESHES)
    assert np.abs(rows[place] - (150 + drift * place)).max() < 1


def test_a_tear_is_found_in_pictures_of_which_every_third_row_is_looked_at() -> None:
    seams = [(place, 3.0 * row) for place, row in [*by_chance(), *standing(150, 0.1)]]
    part = part_of(seams, REFRESHES, joint=JOINT, row_step=3)
    rows = steady_tears(part, CHANGED, np.zeros(REFRESHES, bool))
    assert np.abs(rows - 3 * (150 + 0.1 * np.arange(REFRESHES))).max() < 3


def test_seams_by_chance_are_no_tear() -> None:
    assert all((found(by_chance(seed)) == 0).all() for seed in range(20))


def test_two_rows_alike_are_edges_of_the_picture() -> None:
    assert (found([*standing(100), *standing(220)]) == 0).all()


def test_what_a_pace_explains_does_not_stand() -> None:
    part = part_of(standing(150), REFRESHES, joint=JOINT)
    is_paced = np.arange(REFRESHES) > 20
    assert (steady_tears(part, CHANGED, is_paced) == 0).all()


def test_it_ends_where_the_seams_end() -> None:
    rows = found([*by_chance(), *standing(150, end=120)])
    assert (rows[:110] > 0).all()
    assert (rows[120 + LONGEST_GAP :] == 0).all()


def test_fewer_seams_go_on_beside_where_it_is_sure() -> None:
    few = [seam for seam in standing(150) if seam[0] < 90 or seam[0] % 5 == 0]
    assert (found(few) > 0).all()
    assert (found([seam for seam in few if seam[0] >= 90]) == 0).all()


def test_lone_seams_far_apart_beside_a_tear_do_not_make_it_go_on() -> None:
    near = [seam for seam in standing(150) if seam[0] < 60]
    far = [(place, 150.0) for place in (100, 140, 180)]
    part = part_of([*near, *far], 300, joint=0.3)
    rows = steady_tears(part, np.full((300, BANDS), 4.0), np.zeros(300, bool))
    assert (rows[:60] > 0).all()
    assert (rows[200:] == 0).all()


def test_beside_what_never_changes_it_is_an_edge() -> None:
    evidence = CHANGED.copy()
    evidence[:, 19:] = -4.0
    assert (found(standing(152), evidence) == 0).all()
    assert (found(standing(120), evidence) > 0).all()


def test_a_short_capture_is_one_window() -> None:
    rows = found([seam for seam in standing(150) if seam[0] < 40], CHANGED[:40])
    assert (rows == 150).all()


@pytest.mark.parametrize("refreshes", [1, 2, 3, 10])
def test_a_few_refreshes_show_no_tear_that_stands(refreshes: int) -> None:
    rows = found([(place, 150.0) for place in range(1, refreshes)], CHANGED[:refreshes])
    assert (rows == 0).all()
