from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacerail.capture.grid import RefreshGrid, settle
from pacerail.timebase import STANDARD_RATES, ticks_to_refresh

MILLISECOND = Fraction(1, 1000)
TRANSPORT = Fraction(1, 90_000)


def placed(stamps: list[int], time_base: Fraction, hz: Fraction) -> list[int]:
    grid = RefreshGrid(time_base, hz)
    return [grid.place(stamp) for stamp in stamps]


def settled(nearest: list[int]) -> list[int | None]:
    """What the reader makes of a run of nearest refreshes; None for a dropped picture."""
    last, result = -1, []
    for index, place in enumerate(nearest):
        following = nearest[index + 1] if index + 1 < len(nearest) else None
        refresh = settle(last, place, following)
        result.append(refresh)
        last = last if refresh is None else refresh
    return result


@given(
    st.sampled_from(STANDARD_RATES),
    st.sampled_from([MILLISECOND, TRANSPORT]),
    st.sets(st.integers(1, 400), min_size=2),
    st.integers(0, 10**9),
)
def test_rounded_stamps_fall_on_the_refreshes_they_came_from(
    hz: Fraction, time_base: Fraction, kept: set[int], start: int
) -> None:
    refreshes = [0, *sorted(kept)]
    stamps = [start + round(refresh / (hz * time_base)) for refresh in refreshes]
    assert placed(stamps, time_base, hz) == refreshes
    assert [ticks_to_refresh(stamp, start, time_base, hz) for stamp in stamps] == refreshes


@pytest.mark.parametrize("drift", [4e-4, -4e-4])
def test_an_hour_of_drift_neither_loses_nor_invents_a_refresh(drift: float) -> None:
    stamps = np.round(np.arange(216_000) * 1500 * (1 + drift)).astype(int).tolist()
    assert placed(stamps, TRANSPORT, Fraction(60)) == list(range(216_000))


def test_a_gap_is_a_jump_whatever_phase_the_recorder_restarts_in() -> None:
    stamps = [i * 1500 for i in range(10)] + [30_000 + 600 + i * 1500 for i in range(200)]
    assert placed(stamps, TRANSPORT, Fraction(60)) == [*range(10), *range(20, 220)]


def test_a_clock_that_restarts_runs_on() -> None:
    grid = RefreshGrid(TRANSPORT, Fraction(60))
    stamps = [10**9 + i * 1500 for i in range(300)] + [i * 1500 for i in range(300)]
    assert [grid.place(stamp) for stamp in stamps] == list(range(600))
    assert grid.clock_jumps == 1
    assert 299 * 1500 + grid.shift_ticks == 10**9 + 599 * 1500


def test_a_clock_that_leaps_by_days_is_no_gap() -> None:
    grid = RefreshGrid(TRANSPORT, Fraction(60))
    stamps = [0, 1500, 10**11, 10**11 + 1500]
    assert [grid.place(stamp) for stamp in stamps] == [0, 1, 2, 3]
    assert grid.clock_jumps == 1


def test_a_doubled_picture_is_dropped() -> None:
    assert settled([0, 1, 2, 2, 3]) == [0, 1, 2, None, 3]


def test_a_picture_out_of_order_is_dropped() -> None:
    assert settled([0, 1, 3, 2, 4]) == [0, 1, 2, 3, 4]
    assert settled([0, 1, 2, 1, 3]) == [0, 1, 2, None, 3]


def test_a_late_stamp_gets_the_empty_refresh_before_it() -> None:
    assert settled([0, 1, 3, 3, 4]) == [0, 1, 2, 3, 4]


def test_an_early_stamp_gets_the_empty_refresh_after_it() -> None:
    assert settled([0, 1, 1, 3, 4]) == [0, 1, 2, 3, 4]


@given(st.lists(st.integers(0, 60), min_size=1))
def test_settled_refreshes_always_rise(nearest: list[int]) -> None:
    kept = [refresh for refresh in settled(nearest) if refresh is not None]
    assert kept == sorted(set(kept))
    assert len(kept) >= len(set(np.maximum.accumulate(nearest).tolist()))


@given(st.lists(st.integers(0, 60), min_size=1, unique=True).map(sorted))
def test_a_sound_recording_is_left_alone(nearest: list[int]) -> None:
    assert settled(nearest) == nearest
