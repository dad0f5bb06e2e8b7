"""Where flips are searched for their tears, and what is made of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from pacerail.detect.stretches import torn_stretches
from pacerail.detect.tears import band_evidence, flips_in_stretch
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


def test_a_lone_tear_shows_itself_unless_too_little_moves_above_it() -> None:
    evidence = bird_over_ground(np.array([20, 80]))
    assert [
        first < 20 < end for first, end in torn_stretches(part_of([], REFRESHES), evidence)
    ] == [
        True,
        False,
    ]
    evidence[:, BIRD] *= 0.3
    assert torn_stretches(part_of([], REFRESHES), evidence) == []


@pytest.mark.parametrize("bands", [BIRD, slice(0, 2)])
def test_what_contradicts_a_tear_is_no_sign_of_one(bands: slice) -> None:
    # The bird moves at once, or something above it does.
    firsts = unevenly(2)
    evidence = bird_over_ground(firsts)
    evidence[firsts, bands] = 6
    assert torn_stretches(part_of([], REFRESHES), evidence) == []


def with_late_frames(places: list[int], edge: int = 6) -> NDArray[np.float64]:
    """Evidence of frames in every refresh, of which some come late: all above an edge is held."""
    evidence = np.full((REFRESHES, BANDS), 6.0)
    evidence[places, :edge] = -5
    return evidence


@pytest.mark.parametrize("places", [[50], [20, 33, 41, 77, 90]])
def test_a_frame_that_comes_late_tears_though_the_next_is_in_time(places: list[int]) -> None:
    evidence, part = with_late_frames(places), part_of([], REFRESHES)
    found = [
        (int(place), float(row))
        for stretch in torn_stretches(part, evidence)
        for place, row, _ in zip(
            *flips_in_stretch(part, evidence, PERIOD_ROWS, stretch), strict=True
        )
    ]
    assert [tear for tear in found if tear[1] > 0] == [(place, 48.0) for place in places]
    # Every other frame is whole, and none is missed or made up.
    assert len({place for place, _ in found}) == len(found)


def test_what_pauses_above_a_row_is_no_late_frame_unless_it_moves_before_and_after() -> None:
    evidence, part = with_late_frames([50]), part_of([], REFRESHES)
    for beside in (49, 51):
        calm = evidence.copy()
        calm[beside, :6] = 0
        assert torn_stretches(part, calm) == []
    evidence[50, :3] = 6
    assert torn_stretches(part, evidence) == []


def test_what_coding_of_an_intra_picture_shows_is_no_late_frame() -> None:
    evidence, part = with_late_frames([50]), part_of([], REFRESHES)
    for place, shows in ((51, False), (45, False), (30, True)):
        is_intra = np.arange(REFRESHES) == place
        assert bool(torn_stretches(replace(part, is_intra=is_intra), evidence)) == shows
    # Where every picture is one, none stands out.
    assert torn_stretches(replace(part, is_intra=np.ones(REFRESHES, bool)), evidence)


@pytest.mark.parametrize("tears", [False, True])
def test_a_seam_within_motion_is_doubted_where_most_flips_are_clean(tears: bool) -> None:
    # Two flips in one refresh: what a program does that does not wait, and no other.
    evidence = np.full((REFRESHES, BANDS), 6.0)
    standing = [(place, 200.0) for place in range(REFRESHES) if tears]
    part = part_of([*standing, (60, 300.0)], REFRESHES, alone=0.24)
    place, row, _ = flips_in_stretch(part, evidence, PERIOD_ROWS, (0, REFRESHES))
    assert (300 in row[place == 60]) == tears
    assert (200 in row) == tears


def test_a_band_that_changes_once_says_nothing_of_the_refreshes_beside() -> None:
    distance = np.full((30, 2), 4.0)
    distance[10:20] = -4
    # A number that counts up while all else moves on.
    distance[:, 1] = -4
    distance[15, 1] = 4
    evidence = band_evidence(distance, np.ones(30, bool))
    assert evidence[15, 1] > 5
    assert (np.abs(np.delete(evidence[:, 1], 15)) < 0.1).all()
    # What moves all the time is held where it pauses.
    assert (evidence[14:16, 0] < -5).all()
    assert not band_evidence(distance, np.zeros(30, bool)).any()


def test_the_last_refresh_tears_as_any_other_but_is_no_sign_of_tears() -> None:
    distance = np.full((REFRESHES, BANDS), 4.0)
    distance[-1, :20] = -4
    evidence = band_evidence(distance, np.ones(REFRESHES, bool))
    assert (evidence[-1, :20] < -5).all()
    # No picture shows that what lies above moves on.
    part = part_of([], REFRESHES)
    assert not torn_stretches(part, evidence)
    place, row, _ = flips_in_stretch(part, evidence, PERIOD_ROWS, (60, REFRESHES))
    assert row[place == REFRESHES - 1] == part.layout.band_rows[20]
    # Before the last, what stays held to the end does not count.
    distance[-4:, :20] = -4
    assert (band_evidence(distance, np.ones(REFRESHES, bool))[-4:-1, :20] > -0.1).all()
