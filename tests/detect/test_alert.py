"""When seams are looked for."""

from __future__ import annotations

import numpy as np

from pacerail.detect.alert import LOOK, REST, SIGNALLED, Alert
from pacerail.detect.seam import Seam

ROWS, PERIOD_ROWS = 360, 375.0


def searched(seams_of: dict[int, list[Seam]], refreshes: int) -> list[int]:
    """Places that are searched where each shows the given seams."""
    alert = Alert(ROWS, PERIOD_ROWS)
    places = []
    for place in range(refreshes):
        if alert.is_on(place):
            places.append(place)
            alert.note(place, seams_of.get(place, []), is_torn=False)
    return places


def test_without_a_sign_two_of_26_are_searched() -> None:
    assert searched({}, 80) == [0, 1, 26, 27, 52, 53, 78, 79]


def test_a_seam_that_stands_out_keeps_the_search_going() -> None:
    sign = {27: [Seam(100, alone=0.2, stands_out=True)]}
    places = searched(sign, 400)
    assert set(range(27, 27 + SIGNALLED)) <= set(places)


def test_seams_in_vain_are_followed_by_a_rest() -> None:
    random = np.random.default_rng(3)
    seams = {place: [Seam(int(random.integers(360)), alone=0.12)] for place in range(3000)}
    places = np.array(searched(seams, LOOK + REST))
    assert (places < LOOK).sum() == LOOK
    assert (places >= LOOK).sum() < REST / 10


def test_seams_at_an_even_pace_need_no_rest() -> None:
    moment = np.arange(0.3, 1000, 1 / 1.25)
    seams = {
        int(one): [Seam(int(one % 1 * PERIOD_ROWS), alone=0.12)]
        for one in moment
        if one % 1 * PERIOD_ROWS < ROWS
    }
    places = searched(seams, 4 * LOOK)
    assert len(places) == 4 * LOOK


def test_a_tear_that_stands_needs_no_rest() -> None:
    random = np.random.default_rng(4)
    seams = {
        place: [Seam(int(random.integers(360)), alone=0.12), Seam(130, joint=0.06)]
        for place in range(4 * LOOK)
    }
    assert len(searched(seams, 4 * LOOK)) == 4 * LOOK


def test_a_tear_that_something_else_shows_keeps_the_search_going() -> None:
    alert = Alert(ROWS, PERIOD_ROWS)
    alert.note(5, [], is_torn=True)
    assert alert.is_on(5 + SIGNALLED - 1)
    assert not alert.is_on(5 + SIGNALLED)


def test_seams_alone_in_their_refreshes_keep_the_search_going() -> None:
    random = np.random.default_rng(4)
    steps = random.choice([-1, 1], LOOK + REST) * random.integers(5, 13, LOOK + REST)
    rows = 180 + np.cumsum(steps)
    seams = {
        place: [Seam(int(row % ROWS), alone=0.12, stands_out=True)]
        for place, row in enumerate(rows)
    }
    assert searched(seams, LOOK + REST) == list(range(LOOK + REST))
