from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from pacerail.stats.target import infer_target_refreshes


@pytest.mark.parametrize(
    ("holds", "refresh_hz", "fps"),
    [
        ([1], 60, 60),
        ([2], 60, 30),
        ([3], 60, 20),
        ([3], 120, 40),
        # How these rates fall on 60 Hz was measured with libavfilter's fps filter.
        ([3, 2], 60, 24),
        ([2, 3, 2, 3, 2], 60, 25),
        ([2, 1], 60, 40),
        ([1, 2, 1], 60, 45),
        ([1, 2, 1, 1], 60, 48),
        ([1, 1, 2, 1, 1], 60, 50),
        # Badly paced, but one frame in two refreshes all the same.
        ([1, 3], 60, 30),
        ([1, 3, 2, 2], 60, 30),
    ],
)
def test_a_cadence_aims_at_its_mean_rate(holds: list[int], refresh_hz: int, fps: int) -> None:
    lengths = np.array(holds * 60, np.float64)
    assert infer_target_refreshes(lengths, Fraction(refresh_hz)) == pytest.approx(refresh_hz / fps)


def test_film_on_a_59_94_hz_display_runs_at_23_976() -> None:
    lengths = np.array([3, 2] * 60, np.float64)
    assert infer_target_refreshes(lengths, Fraction(60000, 1001)) == pytest.approx(2.5)


def test_drops_do_not_move_the_target() -> None:
    random = np.random.default_rng(2)
    lengths = np.where(random.random(2000) < 0.03, 2.0, 1.0)
    assert infer_target_refreshes(lengths, Fraction(60)) == 1.0


def test_an_unsynchronised_program_capped_at_30_aims_at_30() -> None:
    random = np.random.default_rng(3)
    lengths = 2.0 + random.normal(0.0, 0.05, 600)
    assert infer_target_refreshes(lengths, Fraction(60)) == 2.0


def test_without_a_steady_pace_the_median_stands_in() -> None:
    random = np.random.default_rng(4)
    lengths = random.uniform(1.0, 4.0, 999)
    assert infer_target_refreshes(lengths, Fraction(60)) == np.median(lengths)


def test_without_frames_the_target_is_one_refresh() -> None:
    assert infer_target_refreshes(np.zeros(0), Fraction(60)) == 1.0
