"""Laws of the program timings."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest

from demo import pacing


def frame_times_ms(flips: list[Fraction]) -> np.ndarray:
    return np.diff([float(flip * 1000) for flip in flips])


def test_a_steady_rate_is_exact() -> None:
    flips = pacing.steady(Fraction(60000, 1001), 2, Fraction(-1, 1000))
    assert flips[0] == Fraction(-1, 1000)
    assert {b - a for a, b in pairwise(flips)} == {Fraction(1001, 60000)}
    assert flips[-1] < 2 <= flips[-1] + Fraction(1001, 60000)


def test_a_drifting_rate_stays_between_its_ends_and_reaches_both() -> None:
    rates = 1000 / frame_times_ms(pacing.drifting(45, 55, 6))
    assert rates.min() == pytest.approx(45, abs=0.05)
    assert rates.max() == pytest.approx(55, abs=0.05)
    # Slow: no frame time differs from the one before by more than a twentieth.
    assert np.abs(np.diff(rates)).max() < 2.5


def test_jitter_is_bounded_repeatable_and_fills_its_range() -> None:
    flips = pacing.jittered(20, 90, 20, seed=3)
    times = frame_times_ms(flips)
    assert (times >= 1000 / 90 - 1e-6).all()
    assert (times <= 50 + 1e-6).all()
    assert times.min() < 13
    assert times.max() > 48
    assert flips == pacing.jittered(20, 90, 20, seed=3)
    assert flips != pacing.jittered(20, 90, 20, seed=4)


def test_a_pattern_repeats_its_frame_times() -> None:
    flips = pacing.patterned([1, 3], Fraction(60), 1)
    times = [(b - a) * 60 for a, b in pairwise(flips)]
    assert times == [1, 3] * (len(times) // 2) + [1] * (len(times) % 2)


def test_a_stall_leaves_the_flip_that_ends_it() -> None:
    flips = pacing.stalled(pacing.steady(50, 2), [(Fraction(1), Fraction(3, 10))])
    times = frame_times_ms(flips)
    assert times.max() == pytest.approx(300)
    assert sorted(set(times.round(6))) == [20.0, 300.0]


def test_late_frames_only_move_themselves() -> None:
    steady = pacing.steady(60, 1)
    flips = pacing.late(steady, [10, 20], Fraction(1, 100))
    moved = [k for k, (a, b) in enumerate(zip(steady, flips, strict=True)) if a != b]
    assert moved == [10, 20]
    assert flips[10] - steady[10] == Fraction(1, 100)


def test_loading_steps_are_far_apart() -> None:
    times = frame_times_ms(pacing.stepping(0.2, 0.6, 10, seed=1))
    assert (times >= 200 - 1e-6).all()
    assert (times <= 600 + 1e-6).all()


def test_stretches_follow_each_other() -> None:
    flips = pacing.joined(
        (Fraction(1), pacing.steady(60, 2)), (Fraction(1), pacing.steady(30, 1, Fraction(1, 100)))
    )
    assert flips[:60] == pacing.steady(60, 1)
    assert flips[60] == 1 + Fraction(1, 100)
    assert all(a < b for a, b in pairwise(flips))
