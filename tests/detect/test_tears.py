"""Where flips are searched for their tears, and what is made of them."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from pacerail.detect.stretches import torn_stretches
from pacerail.detect.tears import flips_in_stretch
from tests.detect.seam_part import BANDS, PERIOD_ROWS, part_of

REFRESHES = 120
BIRD, GROUND = slice(2, 4), slice(20, BANDS)


def bird_over_ground(firsts: NDArray[np.int64], lag: int = 1) -> NDArray[np.float64]:
    """Evidence of frames that tear below a bird in a plain sky.

    firsts : refreshes in which the ground moves on and the bird does not yet.
    lag : refreshes until only the bird moves on; all moves in those between.
    """
    evidence = np.zeros((REFRESHES, BANDS))
    for first in firsts:
        evidence[first, BIRD], evidence[first, GROUND] = -5, 6
        evidence[first + 1 : first + lag, BIRD] = evidence[first + 1 : first + lag, GROUND] = 6
        evidence[first + lag, BIRD], evidence[first + lag, GROUND] = 5, -6
    return evidence


def unevenly(least: int) -> NDArray[np.int64]:
    """Refreshes at least so far apart, without a pace."""
    apart = np.random.default_rng(2).integers(least, least + 4, REFRESHES)
    places = 4 + np.cumsum(apart)
    return places[places < REFRESHES - least]


@pytest.mark.parametrize("lag", [1, 2])
def test_the_little_that_moves_above_a_tear_shows_it(lag: int) -> None:
    part, firsts = part_of([], REFRESHES), unevenly(lag + 1)
    evidence = bird_over_ground(firsts, lag)
    (stretch,) = torn_stretches(part, evidence)
    place, row, between = flips_in_stretch(part, evidence, PERIOD_ROWS, stretch)
    np.testing.assert_array_equal(place, sorted({*firsts, *(firsts + lag - 1)}))
    # All that is known is that they tear between the bird and the ground.
    begins = np.isin(place, firsts)
    assert ((row[begins] >= 32) & (row[begins] <= 160)).all()
    assert (between[begins] == [32, 160]).all()


def test_the_band_that_is_torn_changes_in_both_refreshes() -> None:
    firsts = unevenly(2)
    evidence = bird_over_ground(firsts)
    for torn in (BIRD.stop, GROUND.start):
        evidence[firsts, torn] = evidence[firsts + 1, torn] = 6
        assert len(torn_stretches(part_of([], REFRESHES), evidence)) == 1, torn
        evidence[firsts, torn] = evidence[firsts + 1, torn] = 0


def test_seldom_is_no_sign() -> None:
    assert torn_stretches(part_of([], REFRESHES), bird_over_ground(np.array([20, 80]))) == []


@pytest.mark.parametrize(("later", "bands"), [(0, BIRD), (0, slice(0, 2)), (1, slice(30, 32))])
def test_what_contradicts_a_tear_is_no_sign_of_one(later: int, bands: slice) -> None:
    # The bird moves at once, something above it does, or something below moves on.
    firsts = unevenly(2)
    evidence = bird_over_ground(firsts)
    evidence[firsts + later, bands] = 6
    assert torn_stretches(part_of([], REFRESHES), evidence) == []
