from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacerail.align.cadence import display_delay_s


def film(
    fps: Fraction, refresh_hz: Fraction, phase_s: float, length_s: float = 8.0
) -> tuple[np.ndarray, float]:
    """Flips of film that waits for refreshes, and its mean wait in seconds."""
    due_s = phase_s + np.arange(0, length_s, float(1 / fps))
    flip_s = np.ceil(due_s * float(refresh_hz) - 1e-9) / float(refresh_hz)
    return flip_s, float((flip_s - due_s).mean())


@given(
    fps=st.sampled_from((Fraction(24), Fraction(25), Fraction(24000, 1001))),
    refresh_hz=st.sampled_from((Fraction(60), Fraction(60000, 1001))),
    phase_s=st.floats(0, 0.04),
)
def test_the_wait_of_film_is_found(fps: Fraction, refresh_hz: Fraction, phase_s: float) -> None:
    flip_s, wait_s = film(fps, refresh_hz, phase_s)
    found_s = display_delay_s(flip_s, np.ones(len(flip_s)), np.zeros(len(flip_s)), refresh_hz)
    # Five waits in turn, or two, leave a gap on the circle: half of it is the doubt.
    assert found_s == pytest.approx(wait_s, abs=0.26 / float(refresh_hz))


@pytest.mark.parametrize("fps", [15, 20, 30, 60])
def test_what_is_locked_to_the_refreshes_does_not_seem_to_wait(fps: int) -> None:
    flip_s, _ = film(Fraction(fps), Fraction(60), 0.0)
    ones = np.ones(len(flip_s))
    assert display_delay_s(flip_s, ones, 0 * ones, Fraction(60)) == 0


@pytest.mark.parametrize("seed", range(5))
def test_uneven_frames_have_no_beat(seed: int) -> None:
    holds = np.random.default_rng(seed).integers(1, 4, 200)
    flip_s = np.cumsum(holds) / 60
    ones = np.ones(len(flip_s))
    assert display_delay_s(flip_s, ones, 0 * ones, Fraction(60)) == 0


def test_torn_frames_wait_for_nothing() -> None:
    flip_s, _ = film(Fraction(25), Fraction(60), 0.0)
    ones = np.ones(len(flip_s))
    assert display_delay_s(flip_s, ones, 0.4 * ones, Fraction(60)) == 0


def test_false_flips_that_change_little_do_not_hide_the_beat() -> None:
    flip_s, wait_s = film(Fraction(25), Fraction(60), 0.01)
    both = np.sort(np.concatenate([flip_s, flip_s[::2] + 1 / 60]))
    change = np.where(np.isin(both, flip_s), 1.0, 0.05)
    found_s = display_delay_s(both, change, np.zeros(len(both)), Fraction(60))
    assert found_s == pytest.approx(wait_s, abs=0.26 / 60)
