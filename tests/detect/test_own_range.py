"""How far a band's change lies from the middle of its own range."""

import numpy as np
import pytest

from pacerail.detect.own_range import distance_in_range

# A band that moves by about four code values, and pauses in every fifth refresh.
MOVING, PAUSED = 2.0, 0.6
IS_PAUSED = np.arange(60) % 5 == 2


COMPARED = np.arange(60) > 0


def band(scatter: float = 0.2) -> np.ndarray:
    level = np.where(IS_PAUSED, PAUSED, MOVING)
    return (level + np.random.default_rng(4).normal(0, scatter, 60))[:, None]


def test_a_pause_lies_below_and_motion_above() -> None:
    distance = distance_in_range(band(), COMPARED)[1:-1, 0]
    assert (distance[IS_PAUSED[1:-1]] < -1).all()
    assert (distance[~IS_PAUSED[1:-1]] > 0).all()


def test_coding_noise_alone_tells_nothing() -> None:
    assert not distance_in_range(band() - 3, COMPARED).any()


def test_steady_motion_tells_nothing_unless_nothing_else_comes_to_as_much() -> None:
    steady = np.full((60, 1), 1.5)
    assert not distance_in_range(steady, COMPARED).any()
    assert (distance_in_range(steady + 3, COMPARED) > 1).all()


@pytest.mark.parametrize("louder", [-0.5, 0.5])
def test_only_the_range_counts(louder: float) -> None:
    louder_distance = distance_in_range(band() + louder, COMPARED)
    np.testing.assert_allclose(louder_distance, distance_in_range(band(), COMPARED))


def test_a_picture_without_predecessor_does_not_count() -> None:
    change = band()
    change[0] = -5.6
    expected = distance_in_range(band(), COMPARED)[1:]
    np.testing.assert_allclose(distance_in_range(change, COMPARED)[1:], expected)
