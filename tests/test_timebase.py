from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacerail.errors import UsageError
from pacerail.timebase import (
    STANDARD_RATES,
    format_clock,
    parse_length,
    parse_rate,
    parse_time,
    seconds_to_refresh,
    snap_rate,
    ticks_to_refresh,
)

NTSC = Fraction(60_000, 1001)
rates = st.sampled_from(STANDARD_RATES)


@pytest.mark.parametrize(
    ("text", "rate"),
    [
        ("60", Fraction(60)),
        ("60.0", Fraction(60)),
        ("59.94", NTSC),
        ("59.940060", NTSC),
        ("23.976", Fraction(24_000, 1001)),
        ("29.97", Fraction(30_000, 1001)),
        ("119.88", Fraction(120_000, 1001)),
        ("60000/1001", NTSC),
        ("75.025", Fraction(3001, 40)),
    ],
)
def test_rates_as_people_write_them(text: str, rate: Fraction) -> None:
    assert parse_rate(text) == rate


@pytest.mark.parametrize("text", ["", "0", "-60", "sixty", "60/0", "60 Hz", "nan", "inf"])
def test_what_is_no_rate_is_refused(text: str) -> None:
    with pytest.raises(UsageError, match="rate must be a positive number"):
        parse_rate(text)


@given(rates, st.floats(-3.9e-4, 3.9e-4))
def test_a_rate_near_a_standard_one_snaps_to_it(standard: Fraction, offset: float) -> None:
    assert snap_rate(standard * (1 + Fraction(offset))) == standard


@given(st.fractions(Fraction(1), Fraction(500)))
def test_snapping_moves_by_no_more_than_the_tolerance(rate: Fraction) -> None:
    snapped = snap_rate(rate)
    assert abs(snapped - rate) <= snapped / 2500
    assert snap_rate(snapped) == snapped


@given(rates, st.integers(0, 10**6), st.integers(-(10**9), 10**9))
def test_rounded_ticks_find_their_refresh(hz: Fraction, refresh: int, first: int) -> None:
    for time_base in (Fraction(1, 1000), Fraction(1, 90_000)):
        tick = first + int(refresh / (hz * time_base) + Fraction(1, 2))
        assert ticks_to_refresh(tick, first, time_base, hz) == refresh


def test_half_a_refresh_rounds_up() -> None:
    assert ticks_to_refresh(1, 0, Fraction(1, 120), Fraction(60)) == 1


@given(rates, st.integers(0, 10**6))
def test_a_refresh_starts_at_its_own_second(hz: Fraction, refresh: int) -> None:
    assert seconds_to_refresh(refresh / hz, hz) == refresh
    assert seconds_to_refresh(refresh / hz + Fraction(1, 10**9), hz) == refresh + 1


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("0", Fraction(0)),
        ("83.5", Fraction(167, 2)),
        (".5", Fraction(1, 2)),
        ("12.", Fraction(12)),
        (" 7 ", Fraction(7)),
        ("1:23.500", Fraction(167, 2)),
        ("01:23", Fraction(83)),
        ("1:00:00.001", Fraction(3_600_001, 1000)),
        ("100:00:00", Fraction(360_000)),
        ("00:01:23:30", Fraction(167, 2)),
    ],
)
def test_times_as_people_write_them(text: str, seconds: Fraction) -> None:
    assert parse_time(text, Fraction(60)) == seconds


# 1 h of drop-frame labels at 29.97 Hz lasts 3599.9964 s: 107,892 frames (OpenTimelineIO's
# test_opentime.py counts 107,892 to 01:00:00;00).
def test_an_hour_of_drop_frame_labels() -> None:
    hz = Fraction(30_000, 1001)
    assert parse_time("01:00:00;00", hz) == 107_892 / hz


@pytest.mark.parametrize(
    "text", ["", "x", "-1", "1:60", "0:60:00", "1:2:3:4", "1:61:00", "1e3", "1,5"]
)
def test_what_is_no_time_is_refused(text: str) -> None:
    with pytest.raises(UsageError, match=r"time must be seconds, mm:ss\.mmm"):
        parse_time(text, Fraction(60))


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("2", Fraction(2)),
        ("0.5s", Fraction(1, 2)),
        (" 250 ms ", Fraction(1, 4)),
        ("1:23.5", Fraction(167, 2)),
        ("00:00:01:30", Fraction(3, 2)),
    ],
)
def test_lengths_as_people_write_them(text: str, seconds: Fraction) -> None:
    assert parse_length(text) == seconds


@pytest.mark.parametrize("text", ["0", "0ms", "0:00", "-1", "1m", "soon", "s"])
def test_what_is_no_length_is_refused(text: str) -> None:
    with pytest.raises(UsageError, match=r"time must be "):
        parse_length(text)


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0.0, "0:00.000"),
        (83.5, "1:23.500"),
        (59.9996, "1:00.000"),
        (3599.9994, "59:59.999"),
        (3600.0, "1:00:00.000"),
        (36_000.25, "10:00:00.250"),
    ],
)
def test_clock(seconds: float, text: str) -> None:
    assert format_clock(seconds) == text


@given(st.integers(0, 10**8))
def test_the_clock_reads_back(milliseconds: int) -> None:
    seconds = Fraction(milliseconds, 1000)
    assert parse_time(format_clock(float(seconds)), Fraction(60)) == seconds
