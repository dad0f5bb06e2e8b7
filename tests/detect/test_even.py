"""Flips that an even pace lets one expect."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from pacerail.detect.even import CREDIT, LEAST_COST, NAMED, even_paces, expected, repeats
from pacerail.detect.flips import Candidates
from pacerail.detect.grid import Pace

ROWS, PERIOD_ROWS = 360, 375.0
COST = 9.0


def flips_at(rate: float, n: int, phase: float = 0.3) -> NDArray[np.float64]:
    """Moments of a program with `rate` flips per refresh."""
    return np.arange(phase, n, 1 / rate)


def candidates_of(*flips: tuple[int, float, float]) -> Candidates:
    """Candidates of (refresh, row, reward)."""
    refresh, row, reward = (np.array(column) for column in zip(*flips, strict=True))
    none = np.zeros(len(row))
    return Candidates(refresh.astype(np.int64), row, reward, none, none > 0)


@pytest.mark.parametrize("rate", [0.4, 0.4983, 0.5, 2 / 3, 5 / 6, 0.9])
def test_the_pace_of_most_flips_is_found(rate: float) -> None:
    random = np.random.default_rng(3)
    moment = flips_at(rate, 180)
    is_off = random.random(len(moment)) < 0.35
    moment = np.sort(moment + is_off * random.uniform(0.1, 0.9, len(moment)))
    ((first, end, pace),) = even_paces(moment, 0, 180)
    assert (first, end) == (0, 180)
    assert 1 / pace.period == pytest.approx(rate, abs=0.0005)
    assert np.abs(pace.off(moment[~is_off])).max() < 0.02


def test_flips_at_any_time_have_no_pace() -> None:
    for seed in range(20):
        gap = np.random.default_rng(seed).uniform(1.0, 3.0, 120)
        assert even_paces(np.cumsum(gap), 0, 240) == []


def test_a_rate_that_changes_is_found_in_parts() -> None:
    moment = np.concatenate([flips_at(0.5, 120), 120 + flips_at(0.75, 120)])
    paces = even_paces(moment, 0, 240)
    assert [(first, end) for first, end, _ in paces] == [(0, 120), (120, 240)]
    rates = [1 / pace.period for *_, pace in paces]
    assert rates == pytest.approx([0.5, 0.75], abs=0.001)


def test_what_lies_on_the_grid_has_credit() -> None:
    pace = Pace(2.0, 0.4)
    given = candidates_of((2, 150.0, -8.0), (3, 150.0, -8.0), (4, 90.0, -8.0))
    result = expected(given, [(0, 6, pace)], np.ones(6, bool), ROWS, PERIOD_ROWS, COST)
    reward = {
        (int(refresh), round(float(row))): float(value)
        for refresh, row, value in zip(result.refresh, result.row, result.reward, strict=True)
    }
    assert reward[2, 150] == -8 + CREDIT
    assert reward[3, 150] == reward[4, 90] == -8
    assert reward[0, 150] == reward[4, 150] == pytest.approx(CREDIT + NAMED - COST)


def test_a_flip_in_the_blanking_has_credit_as_a_clean_one() -> None:
    given = candidates_of((2, 0.0, -2.0), (3, 0.0, -2.0))
    result = expected(given, [(0, 6, Pace(2.0, 1.98))], np.ones(6, bool), ROWS, PERIOD_ROWS, COST)
    assert result.refresh.tolist() == [2, 3]
    assert result.reward.tolist() == [-LEAST_COST, -2.0]


def test_without_evidence_no_flip_gains() -> None:
    given = candidates_of((2, 150.0, -3.0))
    result = expected(given, [(0, 6, Pace(2.0, 0.4))], np.ones(6, bool), ROWS, PERIOD_ROWS, COST)
    assert (result.reward < 0).all()


def test_what_cannot_be_compared_is_left_out() -> None:
    compared = np.array([True, True, False, True, True, True])
    given = candidates_of((3, 10.0, -8.0))
    result = expected(given, [(0, 6, Pace(2.0, 0.4))], compared, ROWS, PERIOD_ROWS, COST)
    assert result.refresh.tolist() == [0, 3, 4]


def test_two_flips_at_one_moment_of_a_pace_are_one() -> None:
    moment = np.array([1.95, 2.0, 4.0, 5.0, 9.0, 9.1])
    paces = [(0, 8, Pace(2.0, 0.0))]
    assert repeats(moment, paces).tolist() == [False, True, False, False, False, False]
