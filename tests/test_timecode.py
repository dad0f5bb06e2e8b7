from __future__ import annotations

from fractions import Fraction

import opentimelineio as otio
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacerail.errors import UsageError
from pacerail.timecode import (
    Timecode,
    dropped_labels,
    is_timecode,
    refresh_to_timecode,
    timecode_to_refresh,
)

NTSC, NTSC_DOUBLE = Fraction(30000, 1001), Fraction(60000, 1001)

# OpenTimelineIO's own tests (tests/test_opentime.py) hold the rows at 29.97; the rows at
# 59.94 are what OpenTimelineIO 0.18.1 and the package timecode 1.5.1 both print.
DROP_FRAME = [
    (1799, NTSC, "00:00:59;29"),
    (1800, NTSC, "00:01:00;02"),
    (10789, NTSC, "00:05:59;29"),
    (17981, NTSC, "00:09:59;29"),
    (17982, NTSC, "00:10:00;00"),
    (107892, NTSC, "01:00:00;00"),
    (1084319, NTSC, "10:03:00;05"),
    (3599, NTSC_DOUBLE, "00:00:59;59"),
    (3600, NTSC_DOUBLE, "00:01:00;04"),
    (35963, NTSC_DOUBLE, "00:09:59;59"),
    (35964, NTSC_DOUBLE, "00:10:00;00"),
    (215783, NTSC_DOUBLE, "00:59:59;59"),
    (215784, NTSC_DOUBLE, "01:00:00;00"),
    (1084319, NTSC_DOUBLE, "05:01:30;03"),
]
WITHOUT_DROP = [
    (1800, NTSC, "00:01:00:00"),
    (17982, NTSC, "00:09:59:12"),
    (107892, NTSC, "00:59:56:12"),
    (1084319, NTSC, "10:02:23:29"),
    (35964, NTSC_DOUBLE, "00:09:59:24"),
    (1084319, NTSC_DOUBLE, "05:01:11:59"),
]


@pytest.mark.parametrize(("refresh", "refresh_hz", "label"), DROP_FRAME + WITHOUT_DROP)
def test_published_tables(refresh: int, refresh_hz: Fraction, label: str) -> None:
    assert refresh_to_timecode(refresh, refresh_hz, drop=";" in label) == label
    assert timecode_to_refresh(label, refresh_hz) == refresh


@given(
    st.integers(0, 5_178_815),
    st.sampled_from([NTSC, NTSC_DOUBLE, Fraction(24), Fraction(25), Fraction(50), Fraction(60)]),
    st.booleans(),
)
def test_opentimelineio_prints_the_same_labels(
    refresh: int, refresh_hz: Fraction, drop: bool
) -> None:
    drop = drop and refresh_hz.denominator == 1001
    refresh %= 24 * 3600 * round(refresh_hz) // 1001 * 1000
    time = otio.opentime.RationalTime(refresh, float(refresh_hz))
    label = refresh_to_timecode(refresh, refresh_hz, drop=drop)
    assert label == time.to_timecode(float(refresh_hz), drop_frame=drop)


@given(st.integers(0, 2_589_407), st.sampled_from([NTSC, NTSC_DOUBLE]), st.booleans())
def test_labels_read_back(refresh: int, refresh_hz: Fraction, drop: bool) -> None:
    label = refresh_to_timecode(refresh, refresh_hz, drop=drop)
    assert timecode_to_refresh(label, refresh_hz) == refresh


@pytest.mark.parametrize(("refresh_hz", "a_day"), [(NTSC, 2_589_408), (NTSC_DOUBLE, 5_178_816)])
def test_a_day_of_drop_frame_labels_starts_again(refresh_hz: Fraction, a_day: int) -> None:
    # 24 hours hold 2,589,408 labels at 29.97 (OpenTimelineIO) and twice as many at 59.94.
    assert refresh_to_timecode(a_day - 1, refresh_hz, drop=True).startswith("23:59:59;")
    assert refresh_to_timecode(a_day, refresh_hz, drop=True) == "00:00:00;00"


@pytest.mark.parametrize(
    ("label", "refresh_hz"),
    [
        ("00:01:00;00", NTSC),
        ("00:01:00;01", NTSC),
        ("00:01:00;00", NTSC_DOUBLE),
        ("00:01:00;03", NTSC_DOUBLE),
    ],
)
def test_labels_that_drop_frame_never_uses(label: str, refresh_hz: Fraction) -> None:
    with pytest.raises(UsageError, match="a label that drop-frame counting uses"):
        timecode_to_refresh(label, refresh_hz)


@pytest.mark.parametrize("label", ["00:60:00:00", "00:00:60:00", "00:00:00:60"])
def test_labels_beyond_the_count(label: str) -> None:
    with pytest.raises(UsageError, match="timecode must count 0 to 59"):
        timecode_to_refresh(label, Fraction(60))


def test_only_ntsc_rates_drop() -> None:
    with pytest.raises(UsageError, match=r"must go with 29\.97 or 59\.94 Hz, got 60 Hz"):
        dropped_labels(Fraction(60))


def test_a_capture_counts_on_from_its_start_timecode() -> None:
    timecode = Timecode.starting_at("10:00:59;59", NTSC_DOUBLE)
    assert [timecode.label(refresh) for refresh in (0, 1)] == ["10:00:59;59", "10:01:00;04"]


@pytest.mark.parametrize("label", ["", "10:00", "10:00:00", "aa:00:00:00", "10:00:00.00"])
def test_anything_else_is_no_timecode(label: str) -> None:
    assert not is_timecode(label)
    with pytest.raises(UsageError, match="timecode must be hh:mm:ss:ff"):
        Timecode.starting_at(label, Fraction(60))
