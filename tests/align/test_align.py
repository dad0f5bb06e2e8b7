from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pacerail.align.align import align
from tests.align.invented import drifting_blobs, recorded

# A quarter of a refresh at 60 Hz: half of what alignment of real captures is held to.
NEAR_S = 1 / 240


@settings(max_examples=8)
@given(
    offset_s=st.floats(-3, 3),
    fps=st.sampled_from((24.0, 30.0, 37.0, 60.0, 120.0)),
    gamma=st.floats(0.98, 1.02),
    gain=st.floats(0.9, 1.0),
)
def test_the_offset_is_found_whatever_the_rate_and_the_tones(
    offset_s: float, fps: float, gamma: float, gain: float
) -> None:
    content = drifting_blobs(1)
    found = align(
        recorded(content, 5.0, 7.0, noise=0.002),
        recorded(content, 5.0 - offset_s, 7.0, fps=fps, gamma=gamma, gain=gain, noise=0.002),
    )
    assert found is not None
    assert found.offset_s == pytest.approx(offset_s, abs=NEAR_S)
    assert found.start_s >= max(0.0, -offset_s) - 0.1
    assert found.end_s <= min(7.0, 7.0 - offset_s) + 0.1


def test_the_other_way_round_the_offset_changes_its_sign() -> None:
    first = recorded(drifting_blobs(2), 0.0, 6.0)
    second = recorded(drifting_blobs(2), 1.3, 6.0, fps=30.0)
    there, back = align(first, second), align(second, first)
    assert there is not None
    assert back is not None
    assert there.offset_s == pytest.approx(-back.offset_s, abs=NEAR_S)


@pytest.mark.parametrize("seed", range(6))
def test_unrelated_content_does_not_match(seed: int) -> None:
    first = recorded(drifting_blobs(seed), 0.0, 8.0)
    second = recorded(drifting_blobs(seed + 100), 0.0, 8.0, fps=30.0)
    assert align(first, second) is None


def test_pictures_in_which_nothing_moves_do_not_match() -> None:
    still = recorded(lambda moments_s: drifting_blobs(3)(0 * moments_s), 0.0, 6.0)
    assert align(still, still) is None
    noisy = dataclasses.replace(
        still,
        kept=recorded(
            lambda moments_s: drifting_blobs(3)(0 * moments_s), 0.0, 6.0, noise=0.0005
        ).kept,
    )
    assert align(still, noisy) is None


def test_a_loop_matches_nowhere_rather_than_anywhere() -> None:
    def loop(moments_s: np.ndarray) -> np.ndarray:
        return drifting_blobs(4)(np.abs(moments_s % 2.0 - 1.0))

    assert align(recorded(loop, 0.0, 9.0), recorded(loop, 0.7, 9.0)) is None


def test_a_match_is_found_where_only_a_part_is_shared() -> None:
    shared, before, after = drifting_blobs(5), drifting_blobs(6), drifting_blobs(7)

    def longer_load(moments_s: np.ndarray) -> np.ndarray:
        inside = ((moments_s >= 6) & (moments_s < 12))[:, None, None]
        other = np.where((moments_s < 6)[:, None, None], before(moments_s), after(moments_s))
        return np.where(inside, shared(moments_s), other)

    found = align(recorded(longer_load, 0.0, 20.0), recorded(shared, 3.0, 20.0, fps=30.0))
    assert found is not None
    assert found.offset_s == pytest.approx(-3.0, abs=NEAR_S)
    assert 5.0 <= found.start_s < found.end_s <= 13.0


def test_around_chooses_between_two_offsets() -> None:
    content = drifting_blobs(8)

    def with_pause(moments_s: np.ndarray) -> np.ndarray:
        return content(np.where(moments_s < 25, moments_s, np.maximum(moments_s - 4, 25)))

    plain, paused = recorded(content, 0.0, 50.0, fps=30.0), recorded(with_pause, 0.0, 50.0, fps=30)
    early, late = (align(plain, paused, around_s=moment_s) for moment_s in (10.0, 40.0))
    assert early is not None
    assert late is not None
    assert early.offset_s == pytest.approx(0.0, abs=NEAR_S)
    assert late.offset_s == pytest.approx(4.0, abs=NEAR_S)


@pytest.mark.parametrize("ppm", [-150.0, 0.0, 150.0])
def test_drift_is_found_within_its_error(ppm: float) -> None:
    content = drifting_blobs(9)
    first = recorded(content, 0.0, 120.0, fps=30.0, noise=0.002)
    second = recorded(content, 2.0, 120.0, fps=30.0, clock=1 + ppm * 1e-6, noise=0.002, seed=1)
    found = align(first, second)
    assert found is not None
    assert found.drift_ppm is not None
    assert found.drift_error_ppm is not None
    assert found.drift_ppm == pytest.approx(ppm, abs=max(2 * found.drift_error_ppm, 5))
    assert found.drift_error_ppm < 30
    assert found.drifts == (ppm != 0)
    # Content time c is shown by the first at c, by the second at (c - 2) * clock.
    for moment_s in (found.start_s, found.at_s, found.end_s):
        expected_s = (moment_s - 2.0) * (1 + ppm * 1e-6)
        assert found.moment_in_second(moment_s) == pytest.approx(expected_s, abs=NEAR_S)


def test_too_short_a_match_tells_no_drift() -> None:
    content = drifting_blobs(10)
    found = align(recorded(content, 0.0, 3.0), recorded(content, 0.5, 3.0))
    assert found is not None
    assert found.drift_ppm is None
    assert found.drift_error_ppm is None


def test_sound_that_agrees_halves_the_doubt_and_other_sound_changes_nothing() -> None:
    content = drifting_blobs(11)
    first, second = recorded(content, 0.0, 6.0), recorded(content, 1.0, 6.0)
    silent = align(first, second)
    agreeing = align(first, second, sound_offset_s=-0.98)
    other = align(first, second, sound_offset_s=0.5)
    assert silent is not None
    assert agreeing is not None
    assert other is not None
    assert (silent.sound_agrees, agreeing.sound_agrees, other.sound_agrees) == (None, True, False)
    assert 1 - agreeing.confidence == pytest.approx((1 - silent.confidence) / 2)
    assert other.confidence == silent.confidence
    assert silent.offset_s == agreeing.offset_s == other.offset_s
