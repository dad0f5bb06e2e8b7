from __future__ import annotations

from fractions import Fraction

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacerail.errors import UsageError
from pacerail.record import TimingRecord
from pacerail.series import SpanKind
from pacerail.stats.clock import frame_clock
from pacerail.stats.frames import frame_series
from pacerail.stats.rolling import frame_time_on_screen, rolling_frame_rate
from tests.timing_records import record_of_flips, record_of_holds, records


def test_a_steady_59_94_reads_59_940_where_a_count_reads_60() -> None:
    # 59 periods of 1001/60000 s are shorter than a second and 60 are longer, so a window
    # of one second holds 60 flips although the rate is 59.940.
    record = record_of_holds([1] * 300, refresh_hz=Fraction(60000, 1001))
    series = frame_series(record)
    rate = rolling_frame_rate(series)
    settled = rate.frame_rate_fps[100:290]
    np.testing.assert_allclose(settled, 60000 / 1001, rtol=1e-12)
    flips = pd.Series(1, index=pd.to_timedelta(series.start_s[series.flipped], unit="s"))
    assert (flips.rolling("1s").sum().iloc[100:290] == 60).all()


@pytest.mark.parametrize(
    ("holds", "fps"), [([1], 60), ([2], 30), ([3, 2], 24), ([1, 1, 2, 1, 1], 50), ([1, 3], 30)]
)
def test_a_cadence_reads_its_rate_over_whole_periods(holds: list[int], fps: int) -> None:
    series = frame_series(record_of_holds(holds * 120))
    rate = rolling_frame_rate(series).frame_rate_fps
    np.testing.assert_allclose(rate[70:190], fps, rtol=1e-9)


@given(records(with_cuts=False), st.sampled_from([0.5, 1.0, 2.0]))
def test_it_lies_within_one_frame_of_the_count_that_pandas_makes(
    record: TimingRecord, window_s: float
) -> None:
    series = frame_series(record, still_limit_s=1e9)
    flips = series.start_s[series.flipped]
    hz = float(record.refresh_hz)
    rate = rolling_frame_rate(series, window_s=window_s)
    ends = (np.arange(record.refreshes) + 1) / hz
    moments = np.concatenate([flips, ends])
    marks = np.concatenate([np.ones(len(flips)), np.zeros(len(ends))])
    order = np.argsort(moments, kind="stable")
    index = pd.to_timedelta(np.round(moments[order] * 1e9), unit="ns")
    count = pd.Series(marks[order], index=index).rolling(f"{round(window_s * 1e9)}ns").sum()
    counted = count.to_numpy()[np.flatnonzero(order >= len(flips))]
    known = np.isfinite(rate.frame_rate_fps) & ~rate.partial
    if len(flips):
        known &= (ends <= flips[-1]) & (ends - window_s >= flips[0])
    frames = rate.frame_rate_fps[known] * window_s
    assert (np.abs(frames - counted[known]) <= 1 + 1e-6).all()


@given(records(), st.booleans(), st.sampled_from([0.1, 0.5, 1.0]))
def test_it_equals_a_plain_sum_over_spans(
    record: TimingRecord, centred: bool, window_s: float
) -> None:
    series = frame_series(record)
    rate = rolling_frame_rate(series, window_s=window_s, centred=centred)
    hz = float(record.refresh_hz)
    cut = (series.kind == SpanKind.STILL) | (series.kind == SpanKind.FAULT)
    for refresh in {0, record.refreshes // 2, record.refreshes - 1}:
        at = (refresh + (0.5 if centred else 1.0)) / hz
        start = max(at - window_s * (0.5 if centred else 1.0), 0.0)
        end = min(at + (window_s / 2 if centred else 0.0), float(record.refreshes) / hz)
        frames = measured = 0.0
        inside_a_cut = False
        for low, high, is_cut in zip(series.start_s, series.end_s, cut, strict=True):
            if not is_cut:
                continue
            if (low <= at < high) if centred else (low < at <= high):
                inside_a_cut = True
            elif high <= at:
                start = max(start, high)
            else:
                end = min(end, low)
        for low, high, kind in zip(series.start_s, series.end_s, series.kind, strict=True):
            if kind == SpanKind.FRAME:
                overlap = max(min(high, end) - max(low, start), 0.0)
                frames += overlap / (high - low)
                measured += overlap
        got = rate.frame_rate_fps[refresh]
        if inside_a_cut or measured < max(0.5 * (end - start), 1 / hz) - 1e-9:
            assert np.isnan(got)
        else:
            assert got == pytest.approx(frames / measured, rel=1e-6)


def test_only_whole_windows_are_not_partial() -> None:
    series = frame_series(record_of_holds([1] * 180))
    trailing = rolling_frame_rate(series)
    assert trailing.partial[:59].all()
    assert not trailing.partial[59:].any()
    centred = rolling_frame_rate(series, centred=True)
    assert centred.partial[:30].all()
    assert not centred.partial[30:152].any()
    assert centred.partial[152:].all()


def test_a_still_span_cuts_the_series_instead_of_bending_it() -> None:
    flips = [*range(1, 120), *range(180, 300)]
    series = frame_series(record_of_flips(flips, 300))
    rate = rolling_frame_rate(series)
    assert series.kind[119] == SpanKind.STILL
    before, inside, after = slice(1, 119), slice(119, 180), slice(180, 298)
    np.testing.assert_allclose(rate.frame_rate_fps[before], 60)
    assert np.isnan(rate.frame_rate_fps[inside]).all()
    np.testing.assert_allclose(rate.frame_rate_fps[after], 60)
    assert rate.partial[180:239].all()
    assert not rate.partial[239:].any()


def test_a_sliver_after_a_still_span_is_no_rate() -> None:
    # The flip that ends it tears near the foot: 5 ms are left of its refresh.
    record = record_of_flips([1, 60, 61, 62, 63], 70, [0, 800, 0, 0, 0])
    rate = rolling_frame_rate(frame_series(record)).frame_rate_fps
    assert np.isnan(rate[60])
    assert rate[61] < 100


def test_a_capture_fault_cuts_it_too() -> None:
    flips = [*range(1, 60), *range(71, 130)]
    series = frame_series(record_of_flips(flips, 131, faults=list(range(60, 70)), firsts=[70]))
    rate = rolling_frame_rate(series).frame_rate_fps
    np.testing.assert_allclose(rate[1:59], 60)
    assert np.isnan(rate[60:71]).all()
    np.testing.assert_allclose(rate[72:128], 60)


def test_frame_time_on_screen_is_that_of_the_frame_a_refresh_starts_with() -> None:
    series = frame_series(record_of_flips([1, 3, 4, 6], 8, [0, 540, 0, 0]))
    shown = frame_time_on_screen(series)
    period = 1000 / 60
    torn = 2 * period + 8.0
    expected = [np.nan, torn, torn, torn, 2 * period, 2 * period, np.nan, np.nan]
    np.testing.assert_allclose(shown, expected)


def test_no_flip_no_rate() -> None:
    series = frame_series(record_of_flips([], 20))
    assert np.isnan(rolling_frame_rate(series).frame_rate_fps).all()
    assert np.isnan(frame_time_on_screen(series)).all()


@pytest.mark.parametrize("window_s", [0.0, 1 / 60, float("nan")])
def test_a_window_spans_two_refreshes_or_more(window_s: float) -> None:
    with pytest.raises(UsageError, match="rolling window must be at least 2 refreshes"):
        rolling_frame_rate(frame_series(record_of_holds([1, 1])), window_s=window_s)


def test_a_window_of_exactly_two_refreshes_is_allowed_at_any_rate() -> None:
    for refresh_hz in (Fraction(50), Fraction(60000, 1001), Fraction(144)):
        series = frame_series(record_of_holds([1] * 9, refresh_hz=refresh_hz))
        rolling_frame_rate(series, window_s=float(2 / refresh_hz))


@given(records())
def test_the_clock_counts_whole_frames_at_flips(record: TimingRecord) -> None:
    series = frame_series(record)
    clock = frame_clock(series)
    frames = series.kind == SpanKind.FRAME
    assert clock.frames[-1] == frames.sum()
    np.testing.assert_allclose(
        clock.frames_between(series.start_s, series.end_s), frames, atol=1e-9
    )


def test_still_spans_count_on_request_where_both_ends_are_flips() -> None:
    series = frame_series(record_of_flips([1, 40, 41], 100))
    without, with_stills = frame_clock(series), frame_clock(series, with_stills=True)
    assert without.frames[-1] == 1
    assert with_stills.frames[-1] == 2
    assert with_stills.measured_s[-1] == pytest.approx(40 / 60)
