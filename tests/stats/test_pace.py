from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given

from pacerail.record import TimingRecord
from pacerail.series import SpanKind
from pacerail.stats.frames import frame_series
from pacerail.stats.pace import is_late, missed_refreshes
from pacerail.stats.readout import running_counts
from tests.timing_records import record_of_flips, record_of_holds, records


def test_late_means_more_than_half_a_refresh_beyond_the_target() -> None:
    # Rows of 1080 to refreshes: row / 1080 * 0.96, so row 562.5 is half a refresh.
    series = frame_series(
        record_of_flips([1, 2, 3, 4, 6, 9], 12, [0, 562.5, 0, 563, 0, 0]),
        target_fps=Fraction(60),
    )
    np.testing.assert_allclose(
        series.frame_time_ms[1:6] * 60 / 1000, [1.5, 0.5, 1.50044, 1.49956, 3.0], atol=1e-4
    )
    assert is_late(series)[1:6].tolist() == [False, False, True, False, True]
    assert missed_refreshes(series)[1:6].tolist() == [0, 0, 1, 0, 2]


@pytest.mark.parametrize("refresh_hz", [Fraction(60), Fraction(60000, 1001), Fraction(144)])
def test_a_tie_is_on_pace_wherever_it_falls(refresh_hz: Fraction) -> None:
    series = frame_series(
        record_of_holds([3, 2] * 4000, refresh_hz=refresh_hz), target_fps=refresh_hz * 2 / 5
    )
    assert not is_late(series).any()


def test_a_still_span_is_never_late() -> None:
    series = frame_series(record_of_flips([1, 2, 3, 60, 61], 63))
    assert SpanKind.STILL in series.kind
    assert not is_late(series).any()


@given(records())
def test_every_late_frame_misses_a_refresh_and_no_other_does(record: TimingRecord) -> None:
    series = frame_series(record)
    assert ((missed_refreshes(series) > 0) == is_late(series)).all()


def test_late_frames_count_when_they_end() -> None:
    series = frame_series(record_of_holds([1, 1, 3, 1, 2, 1]), target_fps=Fraction(60))
    counts = running_counts(series)
    assert counts.late_frames.tolist() == [0, 0, 0, 0, 0, 0, 1, 1, 1, 2, 2]


def test_the_torn_share_so_far() -> None:
    series = frame_series(record_of_flips([1, 2, 2, 4], 6, [0, 100, 200, 0]))
    np.testing.assert_allclose(
        running_counts(series).torn_share, [np.nan, 0, 2 / 3, 2 / 3, 2 / 4, 2 / 4]
    )


def test_counts_can_start_later() -> None:
    series = frame_series(record_of_flips([1, 3, 5, 6], 8, [0, 9, 0, 0]), target_fps=Fraction(60))
    counts = running_counts(series, first_refresh=3)
    assert counts.late_frames.tolist() == [0, 0, 0, 0, 0, 1, 1, 1]
    np.testing.assert_allclose(counts.torn_share, [*[np.nan] * 3, 1, 1, 0.5, 1 / 3, 1 / 3])


@given(records())
def test_the_last_count_is_the_total(record: TimingRecord) -> None:
    series = frame_series(record)
    counts = running_counts(series)
    assert counts.late_frames[-1] == is_late(series).sum()
    flips = len(record.flip_refresh)
    if flips:
        assert counts.torn_share[-1] == pytest.approx((record.tear_row > 0).sum() / flips)
    else:
        assert np.isnan(counts.torn_share[-1])
