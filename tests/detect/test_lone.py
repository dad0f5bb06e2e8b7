"""Tears near the refresh rate that keep no pace, found from seams that are alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from pacerail.detect.found import FoundFlips
from pacerail.detect.lone import Followed, follow_tears, lone_seams
from pacerail.detect.part import Part
from tests.detect.seam_part import BANDS, PERIOD_ROWS, ROWS, Seams, part_of

REFRESHES = 200
CHANGED = np.full((REFRESHES, BANDS), 4.0)
NOWHERE = np.zeros(REFRESHES, bool)
STRONG, FAINT = 0.2, 0.04


def wandering(seed: int = 3) -> NDArray[np.float64]:
    """Moments of flips a refresh apart, give or take a twentieth."""
    random = np.random.default_rng(seed)
    return 1.4 + np.cumsum(random.uniform(0.95, 1.05, REFRESHES - 5))


def seams_at(moment: NDArray[np.float64]) -> Seams:
    """Those that fall into the picture."""
    place = np.floor(moment)
    row = np.rint((moment - place) * PERIOD_ROWS)
    return [(int(p), float(r)) for p, r in zip(place, row, strict=True) if 1 < r < ROWS]


def by_chance(per_refresh: int, seed: int = 5) -> Seams:
    random = np.random.default_rng(seed)
    return [
        (place, float(row))
        for place in range(REFRESHES)
        for row in random.integers(0, ROWS, per_refresh)
    ]


def part_with(strong: Seams, faint: Seams) -> Part:
    """A part in which the first seams are much stronger than the others."""
    part = part_of([*strong, *faint], REFRESHES)
    seams = zip(part.tear_rows.place.tolist(), part.tear_rows.row.tolist(), strict=True)
    is_strong = np.array([seam in set(strong) for seam in seams])
    strength = np.where(is_strong, STRONG, FAINT)
    return replace(
        part, tear_rows=replace(part.tear_rows, seam=strength, stands_out=np.ones_like(is_strong))
    )


def followed(part: Part, evidence: NDArray[np.float64] = CHANGED) -> tuple[FoundFlips, Followed]:
    """A clean flip in every refresh, and what seams say of them."""
    clean = FoundFlips.of(np.arange(1, REFRESHES), np.zeros(REFRESHES - 1))
    return clean, follow_tears(part, evidence, clean, NOWHERE, NOWHERE, PERIOD_ROWS)


def test_tears_that_wander_are_found_and_nothing_is_left_between() -> None:
    seams = seams_at(wandering())
    clean, result = followed(part_with(seams, by_chance(2)))
    seen = result.added.row > 0
    rows = np.rint(result.added.row[seen])
    found = set(zip(result.added.place[seen].tolist(), rows.tolist(), strict=True))
    assert len(found & set(seams)) > 0.95 * len(seams)
    assert len(found - set(seams)) <= 2
    flips = (clean.kept(result.has_room) + result.added).in_order()
    moment = flips.place + np.maximum(flips.row, flips.midway) / PERIOD_ROWS
    inside = (moment > 10) & (moment < REFRESHES - 10)
    assert np.diff(moment[inside]).min() > 0.85
    assert np.diff(moment[inside]).max() < 1.15


def test_a_flip_that_no_seam_shows_lies_evenly_between_those_that_do() -> None:
    moment = wandering()
    unseen = np.arange(20, len(moment) - 10, 7)
    seams = seams_at(np.delete(moment, unseen))
    _, result = followed(part_with(seams, []))
    guessed = result.added.midway > 0
    told = result.added.place[guessed] + result.added.midway[guessed] / PERIOD_ROWS
    near = np.abs(moment[unseen][:, None] - told).min(axis=1)
    in_picture = (moment[unseen] % 1) * PERIOD_ROWS < ROWS - 20
    assert np.median(near[in_picture]) < 0.05


@pytest.mark.parametrize("seed", range(10))
def test_seams_by_chance_are_no_tears(seed: int) -> None:
    part = part_with(by_chance(3, seed), [])
    assert not lone_seams(part.tear_rows, part.sought, ROWS).any()


def test_the_edge_of_a_panel_is_no_tear() -> None:
    part = part_with([(place, 120.0) for place in range(REFRESHES)], by_chance(2))
    assert not lone_seams(part.tear_rows, part.sought, ROWS).any()


def test_lone_seams_that_do_not_follow_each_other_are_no_tears() -> None:
    # Two rows by turns, 160 of 375 apart.
    rows = [(place, float((40, 200)[place % 2] + place % 9)) for place in range(REFRESHES)]
    part = part_with(rows, [])
    assert lone_seams(part.tear_rows, part.sought, ROWS).any()
    _, result = followed(part)
    assert not len(result.added.place)
    assert result.has_room.all()


def test_a_tear_that_bands_tell_between_two_that_seams_show_is_none() -> None:
    seams = seams_at(wandering())
    clean = FoundFlips.of(np.arange(1, REFRESHES), np.zeros(REFRESHES - 1))
    told = FoundFlips.of(np.arange(20, 100, 3), np.full(27, 10.0))
    flips = (clean + told).in_order()
    part = part_with(seams, [])
    result = follow_tears(part, CHANGED, flips, ~NOWHERE, NOWHERE, PERIOD_ROWS)
    assert not (result.has_room & (flips.row == 10)).any()
    assert (result.added.row > 0).sum() > 0.95 * len(seams)


def test_no_tear_is_followed_past_a_held_refresh() -> None:
    part = part_with(seams_at(wandering()), [])
    assert len(followed(part)[1].added.place)
    by_turns = np.where(np.arange(REFRESHES)[:, None] % 2, 4.0, -4.0)
    assert not len(followed(part, by_turns)[1].added.place)


def test_nothing_is_followed_where_all_is_settled() -> None:
    part = part_with(seams_at(wandering()), [])
    clean = FoundFlips.of(np.arange(1, REFRESHES), np.zeros(REFRESHES - 1))
    result = follow_tears(part, CHANGED, clean, NOWHERE, ~NOWHERE, PERIOD_ROWS)
    assert result.has_room.all()
    assert not len(result.added.place)
