from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacerail.capture.refresh_rate import find_refresh_rate
from pacerail.errors import InputError
from pacerail.timebase import STANDARD_RATES

MILLISECOND = Fraction(1, 1000)
TRANSPORT = Fraction(1, 90_000)


def ticks(refresh: np.ndarray, hz: Fraction, time_base: Fraction, start: int = 0) -> np.ndarray:
    """Time stamps of refreshes, rounded to the time base as a muxer rounds them."""
    exact = refresh / float(hz * time_base)
    return np.floor(exact + 0.5).astype(np.int64) + start


@given(
    st.sampled_from(STANDARD_RATES),
    st.sampled_from([MILLISECOND, TRANSPORT, Fraction(1, 15_360)]),
    st.integers(0, 10**9),
)
def test_every_standard_rate_is_found_behind_rounding(
    hz: Fraction, time_base: Fraction, start: int
) -> None:
    found, reason = find_refresh_rate(
        [ticks(np.arange(600), hz, time_base, start)], time_base, None
    )
    assert found == hz
    assert "600 time stamps" in reason


@given(st.sampled_from(STANDARD_RATES), st.data())
def test_lost_refreshes_do_not_change_the_rate(hz: Fraction, data: st.DataObject) -> None:
    lost = data.draw(st.sets(st.integers(0, 599), max_size=200))
    kept = np.setdiff1d(np.arange(600), list(lost))
    assert find_refresh_rate([ticks(kept, hz, MILLISECOND)], MILLISECOND, None)[0] == hz


@given(st.randoms(use_true_random=False))
def test_file_order_does_not_matter(random: object) -> None:
    stamps = ticks(np.arange(120), Fraction(60), TRANSPORT)
    order = list(range(120))
    random.shuffle(order)  # type: ignore[attr-defined]
    assert find_refresh_rate([stamps[order]], TRANSPORT, None) == find_refresh_rate(
        [stamps], TRANSPORT, None
    )


# checks: a recorder's stamps 0, 17, 33, 50, 67, 83 ms are 60 Hz without jitter (Matroska keeps
# milliseconds: https://www.matroska.org/technical/elements.html, TimestampScale).
def test_sixty_hertz_in_milliseconds() -> None:
    stamps = np.array([0, 17, 33, 50, 67, 83])
    assert find_refresh_rate([stamps], MILLISECOND, None)[0] == 60


def test_the_container_decides_only_what_rounding_leaves_open() -> None:
    ntsc = Fraction(60_000, 1001)
    short = ticks(np.arange(20), ntsc, MILLISECOND)
    assert find_refresh_rate([short], MILLISECOND, ntsc)[0] == ntsc
    long = ticks(np.arange(600), Fraction(60), MILLISECOND)
    assert find_refresh_rate([long], MILLISECOND, ntsc)[0] == 60
    assert find_refresh_rate([long], MILLISECOND, Fraction(25))[0] == 60


def test_a_jittering_recorder_clock_is_seen_through() -> None:
    jitter = np.random.default_rng(5).normal(0, 2.0, 600)
    stamps = np.floor(np.arange(600) * 1000 / 60 + jitter).astype(np.int64)
    assert find_refresh_rate([stamps], MILLISECOND, None)[0] == 60


def test_a_rate_that_is_no_standard_is_kept_as_it_is() -> None:
    found, reason = find_refresh_rate(
        [ticks(np.arange(600), Fraction(64), TRANSPORT)], TRANSPORT, None
    )
    assert float(found) == pytest.approx(64, rel=1e-6)
    assert "no standard rate" in reason


def test_one_moment_is_no_capture() -> None:
    with pytest.raises(InputError, match="at least 2 pictures at different times, got fewer"):
        find_refresh_rate([np.array([7, 7, 7])], TRANSPORT, Fraction(60))


def test_a_slow_opening_does_not_hide_the_refresh_rate() -> None:
    menu = ticks(np.arange(0, 600, 4), Fraction(60), TRANSPORT)
    later = ticks(np.arange(5000, 5200), Fraction(60), TRANSPORT)
    assert find_refresh_rate([menu], TRANSPORT, None)[0] == 15
    assert find_refresh_rate([menu, later], TRANSPORT, None)[0] == 60
