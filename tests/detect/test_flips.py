"""The search along time against trying every set of flips."""

from itertools import combinations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from pacerail.detect.flips import Candidates, choose_flips

BANDS = 4
BAND_ROWS = np.arange(BANDS + 1, dtype=float) * 8
ROWS = 8.0 * BANDS
PERIOD_ROWS = ROWS + 2
HELD_ROWS = 3.0


def gain(chosen: tuple[int, ...], candidates: Candidates, evidence: NDArray[np.float64]) -> float:
    """What a set of flips explains, from the definition: row by row, refresh by refresh."""
    start = candidates.refresh * PERIOD_ROWS + candidates.row
    # A clean flip may come as early as the blanking does.
    earliest = np.where(candidates.row == 0, start - (PERIOD_ROWS - ROWS), start)
    total = float(candidates.reward[list(chosen)].sum())
    far = PERIOD_ROWS + HELD_ROWS
    for place, flip in enumerate(chosen):
        before = chosen[place - 1] if place else None
        after = chosen[place + 1] if place + 1 < len(chosen) else None
        has_room = before is None or start[flip] - earliest[before] >= far
        has_room &= after is None or start[after] - start[flip] >= far
        total += float(candidates.lone_reward[flip]) if has_room else 0.0
    for refresh, band in np.ndindex(evidence.shape):
        for eighth in range(8):
            row = refresh * PERIOD_ROWS + band * 8 + eighth + 0.5
            if any(start[flip] <= row < start[flip] + PERIOD_ROWS for flip in chosen):
                total += float(evidence[refresh, band]) / 8
    return total


@given(st.integers(0, 10**9))
def test_no_set_of_flips_explains_more(seed: int) -> None:
    random = np.random.default_rng(seed)
    refreshes = int(random.integers(1, 5))
    evidence = random.normal(0, 3, (refreshes, BANDS))
    places = [(r, row) for r in range(refreshes) for row in (0.0, 2.0, 17.0, 30.0)]
    picked = random.permutation(len(places))[: int(random.integers(1, 8))]
    refresh, row = np.array([places[i] for i in sorted(picked)]).T
    candidates = Candidates(
        refresh.astype(np.int64),
        row,
        random.normal(-2, 3, len(picked)),
        random.exponential(2, len(picked)) * (row > 0),
        row < 0,
    )
    chosen = choose_flips(candidates, evidence, BAND_ROWS, PERIOD_ROWS, HELD_ROWS)
    sets = [s for k in range(len(picked) + 1) for s in combinations(range(len(picked)), k)]
    best = max(gain(s, candidates, evidence) for s in sets)
    assert np.isclose(gain(tuple(chosen.tolist()), candidates, evidence), best)


def test_a_clean_flip_is_not_moved_up_to_make_room_for_a_tear_near_the_top() -> None:
    # All changes, but for the first band of the refresh that tears there.
    evidence = np.full((5, BANDS), 6.0)
    evidence[3, 0] = -6
    candidates = Candidates(
        np.array([0, 1, 1, 2, 3, 4]),
        np.array([0.0, 0.0, 31.0, 0.0, 2.0, 17.0]),
        np.array([-2.0, -2, -3, -2, -8, -2]),
        np.array([0.0, 0, 0, 0, 12, 0]),
        np.zeros(6, bool),
    )
    chosen = choose_flips(candidates, evidence, BAND_ROWS, PERIOD_ROWS, HELD_ROWS)
    assert 2 not in chosen
    assert {3, 4} <= set(chosen.tolist())


def test_no_candidates_give_no_flips() -> None:
    empty = np.empty(0)
    candidates = Candidates(empty.astype(np.int64), empty, empty, empty, empty > 0)
    chosen = choose_flips(candidates, np.zeros((3, BANDS)), BAND_ROWS, PERIOD_ROWS, HELD_ROWS)
    assert not len(chosen)
