"""Flips at an even pace, found from seams that come by chance as well."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from pacerail.detect.grid import nearest
from pacerail.detect.pace import paced_flips
from tests.detect.seam_part import BANDS, PERIOD_ROWS, ROWS, Seams, part_of

REFRESHES = 192


def tears_at(rate: float, phase: float = 0.3) -> Seams:
    """Tears of a program with `rate` flips per refresh."""
    moment = np.arange(phase, REFRESHES, 1 / rate)
    place = np.floor(moment)
    row = (moment - place) * PERIOD_ROWS
    return [(int(p), float(r)) for p, r in zip(place, row, strict=True) if r < ROWS]


def by_chance(per_refresh: int, seed: int = 5) -> Seams:
    """Seams at any rows."""
    random = np.random.default_rng(seed)
    return [
        (place, float(row))
        for place in range(REFRESHES)
        for row in random.integers(0, ROWS, per_refresh)
    ]


def some_of(seams: Seams, share: float, seed: int = 6) -> Seams:
    """Those of the seams that are seen."""
    random = np.random.default_rng(seed)
    return [seam for seam in seams if random.random() < share]


def moments(seams: Seams) -> NDArray[np.float64]:
    """When each tear is scanned, in refreshes."""
    return np.array([place + row / PERIOD_ROWS for place, row in seams])


def found(
    seams: Seams,
    held: NDArray[np.int64] | None = None,
    refreshes: int = REFRESHES,
    still: slice = slice(0),
) -> tuple[NDArray[np.bool_], Seams]:
    """Where the flips are paced, and their tears."""
    evidence = np.full((refreshes, BANDS), 4.0)
    if held is not None:
        evidence[held] = -4.0
    is_still = np.zeros(refreshes, bool)
    is_still[still] = True
    is_paced, place, row = paced_flips(part_of(seams, refreshes), evidence, is_still, PERIOD_ROWS)
    assert is_paced[place].all()
    return is_paced, [(int(p), float(r)) for p, r in zip(place, row, strict=True) if r > 0]


@pytest.mark.parametrize("rate", [0.967, 1.017, 1.2, 1.25, 1.37, 1.5, 1.833, 2.333, 2.9])
def test_tears_on_a_grid_are_found_among_seams_by_chance(rate: float) -> None:
    true = tears_at(rate)
    is_paced, tears = found(some_of(true, 0.6) + by_chance(2))
    assert is_paced.mean() > 0.9
    inside = [seam for seam in true if is_paced[seam[0]]]
    for one, other in ((tears, inside), (inside, tears)):
        there = moments(other)
        # At its very edge a tear may as well lie outside the picture.
        here = moments([seam for seam in one if 4 < seam[1] < ROWS - 4])
        assert np.abs(there[:, None] - here).min(axis=0).max() * PERIOD_ROWS < 3


def test_tears_a_little_off_the_pace_are_where_seams_show_them() -> None:
    random = np.random.default_rng(8)
    seams = [(place, row + float(random.integers(-2, 3))) for place, row in tears_at(1.2)]
    shown = [(place, row) for place, row in seams if 2 < row < ROWS - 2]
    _, tears = found(shown)
    off = np.abs(moments(shown)[:, None] - moments(tears)).min(axis=0) * PERIOD_ROWS
    assert np.mean(off < 0.01) > 0.9


def test_a_rate_just_off_that_of_the_display_takes_a_longer_look() -> None:
    true = tears_at(0.999)
    is_paced, tears = found(some_of(true, 0.5) + by_chance(2))
    assert is_paced.mean() > 0.9
    rows = dict(true)
    assert max(abs(rows[place] - row) for place, row in tears) < 4


@pytest.mark.parametrize("seed", range(8))
def test_seams_by_chance_are_no_tears(seed: int) -> None:
    is_paced, tears = found(by_chance(4, seed))
    assert not is_paced.any()
    assert tears == []


@pytest.mark.parametrize("rows", [[100.0], [100.0, 287.5], [50, 143.75, 237.5, 331.25]])
def test_a_row_that_always_shows_a_seam_is_no_tear(rows: list[float]) -> None:
    # Two rows half a period apart lie on the grid of two flips per refresh.
    lasting = [(place, row) for place in range(REFRESHES) for row in rows]
    is_paced, _ = found(some_of(lasting, 0.6) + by_chance(2))
    assert not is_paced.any()


def test_tears_at_uneven_paces_are_left_alone() -> None:
    random = np.random.default_rng(9)
    moment = np.cumsum(random.uniform(0.6, 1.0, 400))
    moment = moment[moment < REFRESHES]
    row = (moment % 1) * PERIOD_ROWS
    seams = [(int(m), float(r)) for m, r in zip(moment, row, strict=True) if r < ROWS]
    is_paced, _ = found(seams + by_chance(1))
    assert not is_paced.any()


def test_held_refreshes_contradict_a_pace_that_holds_none() -> None:
    seams = some_of(tears_at(1.25), 0.5) + by_chance(1)
    held = np.arange(1, REFRESHES, 2)
    assert not found(seams, held)[0].any()


def test_no_pace_goes_on_through_a_picture_that_stands_still() -> None:
    true = [seam for seam in tears_at(1.25) if not 90 <= seam[0] < 100]
    assert found(true)[0][90:100].all()
    is_paced, tears = found(true, still=slice(90, 100))
    assert not is_paced[90:100].any()
    assert is_paced[80:90].all()
    assert all(not 90 <= place < 100 for place, _ in tears)
    # A refresh or two without a change may as well be one too faint.
    assert found(true, still=slice(90, 92))[0].all()


def test_a_pace_that_two_windows_show_is_taken_though_neither_is_sure_of_it() -> None:
    seams = some_of(tears_at(1.25), 0.3) + by_chance(5)
    is_paced, _ = found(seams)
    assert is_paced.mean() > 0.5
    alone = [seam for seam in seams if 72 <= seam[0] < 120 or seam[0] % 7]
    assert is_paced.mean() > found(alone)[0].mean()


def test_the_slowest_grid_through_the_tears_is_the_one() -> None:
    # Every grid lies within those of two, three ... flips for one.
    _, tears = found(tears_at(1.3))
    assert len(tears) / REFRESHES == pytest.approx(1.3 * ROWS / PERIOD_ROWS, abs=0.05)


def test_a_part_shorter_than_a_window_is_searched_as_a_whole() -> None:
    seams = [(place, row) for place, row in tears_at(1.3) if place < 40]
    is_paced, tears = found(seams, refreshes=40)
    assert is_paced.shape == (40,)
    assert len(tears) > 40


@pytest.mark.parametrize("rate", [0.5, 0.4983, 0.45])
def test_a_slower_program_is_not_taken_for_one_of_twice_its_rate(rate: float) -> None:
    # Nothing need be seen to be held: its frames may change too little.
    is_paced, _ = found(tears_at(rate) + by_chance(1))
    assert not is_paced.any()


def test_a_pace_goes_on_through_the_last_refresh_where_no_seam_is_looked_for() -> None:
    true = tears_at(1.25, phase=0.35)
    is_paced, tears = found([seam for seam in true if seam[0] < REFRESHES - 1])
    assert is_paced[-1]
    last = [row for place, row in true if place == REFRESHES - 1]
    assert [row for place, row in tears if place == REFRESHES - 1] == pytest.approx(last, abs=3)


@pytest.mark.parametrize("count", [1, 2, 50])
def test_the_nearest_moment_is_that_which_a_look_at_all_finds(count: int) -> None:
    random = np.random.default_rng(count)
    among = np.sort(random.uniform(0, 10, count))
    moment = random.uniform(-1, 11, 200)
    expected = among[np.abs(moment[:, None] - among).argmin(axis=1)]
    np.testing.assert_array_equal(nearest(moment, among), expected)
    assert np.isinf(nearest(moment, np.empty(0))).all()
