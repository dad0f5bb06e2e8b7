from __future__ import annotations

import statistics
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
import scipy.stats
from hypothesis import example, given
from hypothesis import strategies as st
from numpy.typing import NDArray

from pacerail.errors import UsageError
from pacerail.figure import Figure
from pacerail.record import TimingRecord, Verdict
from pacerail.series import SpanKind
from pacerail.stats.figures import DEFINITIONS
from pacerail.stats.frames import frame_series
from pacerail.stats.summary import summarise
from tests.timing_records import record_of_flips, record_of_holds, records

# Figures that count or measure something which adjoining segments share out.
SUMS = (
    "duration_s",
    "refreshes",
    "flips",
    "frames",
    "measured_time_s",
    "late_frames",
    "missed_refreshes",
    "torn_flips",
    "still_spans",
    "still_time_s",
    "capture_faults",
    "lost_refreshes",
    "uncertain_verdicts",
)


def values_of(
    record: TimingRecord, first: int = 0, end: int | None = None, **options: Fraction
) -> dict[str, int | float | str]:
    series = frame_series(record, **options)  # type: ignore[arg-type]
    return {figure.key: figure.value for figure in summarise(record, series, first, end)}


def number(value: int | float | str) -> float:
    assert not isinstance(value, str), value
    return float(value)


def frame_times(record: TimingRecord) -> NDArray[np.float64]:
    series = frame_series(record)
    times: NDArray[np.float64] = series.frame_time_ms[series.kind == SpanKind.FRAME]
    return times


def test_frames_over_time_reads_45_where_a_mean_of_rates_reads_50() -> None:
    # 60 frames in one second and 30 in the next: 90 frames in 2 s. Python's
    # statistics.harmonic_mean and scipy's hmean agree with frames over time.
    record = record_of_holds([1] * 60 + [2] * 30)
    rate = number(values_of(record)["mean_frame_rate_fps"])
    rates = 1000 / frame_times(record)
    assert rate == pytest.approx(45.0)
    assert rate == pytest.approx(statistics.harmonic_mean(rates.tolist()))
    assert rate == pytest.approx(scipy.stats.hmean(rates))
    assert rates.mean() == pytest.approx(50.0)


def test_one_stall_among_four_frames() -> None:
    # 16.667 ms three times and 50 ms once: 4 frames in 100 ms.
    record = record_of_holds([1, 1, 1, 3])
    assert number(values_of(record)["mean_frame_rate_fps"]) == pytest.approx(40.0)


def test_a_twentieth_of_the_frames_can_be_a_tenth_of_the_time() -> None:
    # 54 frames of 16.667 ms and 3 of 33.333 ms: 5.263 % of frames, 10.000 % of time.
    values = values_of(record_of_holds([1] * 54 + [2] * 3), target_fps=Fraction(60))
    assert number(values["late_share"]) == pytest.approx(0.05263, abs=5e-6)
    assert number(values["on_pace_time_share"]) == pytest.approx(0.9)


def test_the_deviation_is_that_of_a_sample() -> None:
    # 2, 4, 4, 4, 5, 5, 7, 9 (the example of Wikipedia's article "Standard deviation"):
    # 2 as a population, 2.138090 as a sample.
    values = values_of(record_of_holds([2, 4, 4, 4, 5, 5, 7, 9], refresh_hz=1000))
    assert number(values["frame_time_standard_deviation_ms"]) == pytest.approx(2.138090, abs=1e-6)


def test_the_two_meanings_of_one_percent_low_differ() -> None:
    # 198 frames of one refresh, one of 6 and one of 12: P99 is still one refresh (198 of
    # 200 do not exceed it), the slowest two frames take 18 refreshes.
    values = values_of(record_of_holds([1] * 99 + [6] + [1] * 99 + [12]))
    assert number(values["one_percent_low_by_quantile_fps"]) == pytest.approx(60.0)
    assert number(values["one_percent_low_by_mean_fps"]) == pytest.approx(60 * 2 / 18)


def test_the_floor_is_the_rate_that_19_frames_in_20_reach() -> None:
    values = values_of(record_of_holds([1] * 94 + [2] * 6))
    assert number(values["frame_rate_floor_95_fps"]) == pytest.approx(30.0)


def test_a_clean_sample_is_a_statistical_statement() -> None:
    # No case in 600: two-sided exact upper bound 0.006129 (scipy), rule of three 0.005.
    values = values_of(record_of_holds([1] * 600))
    assert values["late_frames"] == 0
    assert number(values["late_share_upper"]) == pytest.approx(0.006129, abs=6e-7)
    assert number(values["late_share_rule_of_three"]) == pytest.approx(0.005)
    assert number(values["torn_share_rule_of_three"]) == 3 / int(values["flips"])


def test_pulldown_is_on_pace() -> None:
    values = values_of(record_of_holds([3, 2] * 100))
    assert number(values["target_frame_time_ms"]) == pytest.approx(41.667, abs=1e-3)
    assert values["late_frames"] == 0
    assert values["hold_pattern"] == "3:2"


def test_badly_paced_30_is_half_late() -> None:
    values = values_of(record_of_holds([1, 3] * 100))
    assert number(values["mean_frame_rate_fps"]) == pytest.approx(30.0)
    assert number(values["target_frame_time_ms"]) == pytest.approx(33.333, abs=1e-3)
    assert (values["late_frames"], values["missed_refreshes"]) == (100, 100)
    assert number(values["successive_difference_ms"]) == pytest.approx(2000 / 60)


def test_stills_and_faults_stay_out_of_rates_unless_asked() -> None:
    flips = [*range(1, 61), *range(120, 180), *range(191, 251)]
    record = record_of_flips(flips, 252, faults=list(range(180, 190)), firsts=[190])
    values = values_of(record)
    assert number(values["mean_frame_rate_fps"]) == pytest.approx(60.0)
    assert number(values["mean_frame_rate_with_stills_fps"]) == pytest.approx(
        178 / (177 / 60 + 1.0)
    )
    assert (values["still_spans"], values["capture_faults"]) == (1, 1)
    assert values["lost_refreshes"] == 10
    assert number(values["still_time_s"]) == pytest.approx(1.0)


def test_uncertain_verdicts_are_counted() -> None:
    record = record_of_flips([1, 2, 3], 6)
    margin = np.array([0.1, 0.1, 2, 2, 0.4, 2], np.float32)
    assert values_of(replace(record, margin=margin))["uncertain_verdicts"] == 2


def test_every_figure_of_the_table_comes_out_in_its_order_once() -> None:
    record = record_of_holds([1] * 10)
    figures = summarise(record, frame_series(record))
    assert [figure.key for figure in figures] == [each.key for each in DEFINITIONS]
    assert len({figure.key for figure in figures}) == len(figures)
    assert all(figure.definition for figure in figures)


@pytest.mark.parametrize(("first", "end"), [(5, 5), (6, 5), (-1, 4), (0, 1000)])
def test_a_segment_lies_in_the_capture(first: int, end: int) -> None:
    record = record_of_holds([1] * 10)
    with pytest.raises(UsageError, match="segment must lie in refreshes 0 to 12"):
        summarise(record, frame_series(record), first, end)


DEGENERATE = {
    "one refresh": record_of_flips([], 1),
    "no flip": record_of_flips([], 20),
    "one flip": record_of_flips([5], 20),
    "all held, longer than the still limit": record_of_flips([], 200),
    "all fault": record_of_flips([], 50, faults=range(50)),
    "flips between faults": record_of_flips([2], 5, faults=[0, 4], firsts=[1]),
    "two flips": record_of_flips([1, 2], 3),
}


@pytest.mark.parametrize("name", DEGENERATE)
def test_a_segment_without_much_in_it_gets_answers_in_words(name: str) -> None:
    for value in values_of(DEGENERATE[name]).values():
        if isinstance(value, str):
            assert (
                value in {"inferred", "irregular"}
                or "x" in value
                or value.startswith("not measurable: ")
            )
        else:
            assert np.isfinite(value)


@given(records(), st.data())
def test_no_figure_is_ever_nan(record: TimingRecord, data: st.DataObject) -> None:
    first = data.draw(st.integers(0, record.refreshes - 1))
    end = data.draw(st.integers(first + 1, record.refreshes))
    for value in values_of(record, first, end).values():
        assert isinstance(value, str) or np.isfinite(value)


@given(records(max_refreshes=200), st.data())
def test_splitting_a_segment_and_joining_it_changes_no_sum(
    record: TimingRecord, data: st.DataObject
) -> None:
    if record.refreshes < 2:
        return
    middle = data.draw(st.integers(1, record.refreshes - 1))
    whole = values_of(record)
    parts = values_of(record, 0, middle), values_of(record, middle)
    for key in SUMS:
        assert number(parts[0][key]) + number(parts[1][key]) == pytest.approx(
            number(whole[key]), abs=1e-9
        ), key
    rates = [part["mean_frame_rate_fps"] for part in parts]
    times = [number(part["measured_time_s"]) for part in parts]
    if not any(isinstance(rate, str) for rate in rates):
        frames = sum(number(r) * t for r, t in zip(rates, times, strict=True))
        assert frames == pytest.approx(number(whole["frames"]), abs=1e-6)


@given(records(max_refreshes=120), st.integers(1, 40))
# Fifteen frames last exactly the quarter of a second that a lapse may last.
@example(record_of_holds([1] * 15), 15)
def test_shifting_in_time_changes_nothing(record: TimingRecord, shift: int) -> None:
    shifted = replace(
        record,
        pts=np.arange(record.refreshes + shift, dtype=np.int64),
        verdict=np.concatenate([np.full(shift, Verdict.FAULT, np.uint8), record.verdict]),
        score=np.pad(record.score, (shift, 0)),
        margin=np.pad(record.margin, (shift, 0)),
        flip_refresh=record.flip_refresh + shift,
    )
    before, after = values_of(record), values_of(shifted, shift)
    for key, value in before.items():
        if key == "capture_faults" and record.verdict[0] == Verdict.FAULT:
            continue  # The run of faults now starts before the segment.
        if key == "longest_frame_start_s" and not isinstance(value, str):
            assert number(after[key]) - shift / float(record.refresh_hz) == pytest.approx(value)
        elif isinstance(value, str):
            assert after[key] == value, key
        else:
            assert number(after[key]) == pytest.approx(value, rel=1e-9, abs=1e-9), key


@given(records(max_refreshes=200))
def test_numpy_and_the_standard_library_agree_on_what_they_know(record: TimingRecord) -> None:
    times = frame_times(record)
    if len(times) < 2:
        return
    values = values_of(record)
    assert number(values["frame_time_mean_ms"]) == pytest.approx(times.mean())
    assert number(values["frame_time_median_ms"]) == pytest.approx(np.median(times))
    assert number(values["frame_time_standard_deviation_ms"]) == pytest.approx(
        statistics.stdev(times.tolist()), abs=1e-9
    )
    assert number(values["longest_frame_ms"]) == pytest.approx(times.max())


def test_a_figure_knows_whether_it_is_a_number() -> None:
    assert Figure("flips", 3, "", "flips").is_number
    assert not Figure("flips", "not measurable: no flip", "", "flips").is_number
