from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacerail.errors import UsageError
from pacerail.record import TimingRecord
from pacerail.scanout import flip_refreshes
from pacerail.series import FrameSeries, SpanKind
from pacerail.stats.frames import frame_series
from tests.timing_records import record_of_flips, record_of_holds, records

FRAME, STILL, FAULT, OPEN = SpanKind.FRAME, SpanKind.STILL, SpanKind.FAULT, SpanKind.OPEN


def spans(series: FrameSeries) -> list[tuple[SpanKind, int, bool]]:
    return [
        (SpanKind(kind), int(refresh), bool(flipped))
        for kind, refresh, flipped in zip(series.kind, series.refresh, series.flipped, strict=True)
    ]


def test_frames_last_from_flip_to_flip_and_both_ends_are_open() -> None:
    series = frame_series(record_of_flips([2, 4, 5], 8))
    assert spans(series) == [
        (OPEN, 0, False),
        (FRAME, 2, True),
        (FRAME, 4, True),
        (OPEN, 5, True),
    ]
    np.testing.assert_allclose(series.frame_time_ms, np.array([2, 2, 1, 3]) * 1000 / 60)


def test_a_fault_ends_the_frame_before_it_and_the_next_flip_starts_again() -> None:
    series = frame_series(record_of_flips([1, 3, 8, 9], 11, faults=[4, 5], firsts=[6]))
    assert spans(series) == [
        (OPEN, 0, False),
        (FRAME, 1, True),
        (OPEN, 3, True),
        (FAULT, 4, False),
        (OPEN, 6, False),
        (FRAME, 8, True),
        (OPEN, 9, True),
    ]


def test_a_new_part_cuts_without_a_fault() -> None:
    series = frame_series(record_of_flips([1, 2, 6], 8, firsts=[4]))
    assert spans(series) == [
        (OPEN, 0, False),
        (FRAME, 1, True),
        (OPEN, 2, True),
        (OPEN, 4, False),
        (OPEN, 6, True),
    ]


def test_two_fault_runs_and_faults_at_both_ends() -> None:
    series = frame_series(record_of_flips([3], 8, faults=[0, 1, 5, 7], firsts=[2, 6]))
    assert spans(series) == [
        (FAULT, 0, False),
        (OPEN, 2, False),
        (OPEN, 3, True),
        (FAULT, 5, False),
        (OPEN, 6, False),
        (FAULT, 7, False),
    ]


@pytest.mark.parametrize(("held", "kind"), [(30, FRAME), (31, STILL)])
def test_a_frame_is_still_only_beyond_the_limit(held: int, kind: SpanKind) -> None:
    series = frame_series(record_of_flips([1, 1 + held], 40))
    assert series.kind[1] == kind


def test_open_spans_beyond_the_limit_are_still_and_faults_stay_faults() -> None:
    series = frame_series(record_of_flips([40, 41], 200, faults=list(range(110, 150))))
    assert [kind for kind, _, _ in spans(series)] == [STILL, FRAME, STILL, FAULT, STILL]


def test_the_still_limit_can_be_set() -> None:
    record = record_of_flips([1, 11, 12], 14)
    assert STILL not in frame_series(record).kind
    assert STILL in frame_series(record, still_limit_s=0.1).kind


def test_a_tear_in_the_middle_of_1080p60_comes_8_ms_into_its_refresh() -> None:
    # CTA-861 1080p60: 1125 lines in 1/60 s, so line 540 is sent after 8.000 ms
    # (timings read in the kernel's v4l2-dv-timings.h).
    series = frame_series(record_of_flips([1, 2], 4, [0, 540]))
    assert series.start_s[2] - 2 / 60 == pytest.approx(0.008, abs=1e-9)
    assert series.frame_time_ms[1] == pytest.approx(1000 / 60 + 8.0, abs=1e-6)


@pytest.mark.parametrize(
    ("rows", "refresh_hz", "line_us"),
    # Line times from the totals of CTA-861 and VESA CVT (v4l2-dv-timings.h): 1125, 750,
    # 2250 and 1481 lines a frame.
    [
        (1080, Fraction(60), 14.8148),
        (720, Fraction(60), 22.2222),
        (2160, Fraction(60), 7.40741),
        (1080, Fraction(120), 7.40741),
        (1440, Fraction(60), 1e6 / 60 / 1481),
    ],
)
def test_tears_in_successive_refreshes_lie_a_period_and_their_lines_apart(
    rows: int, refresh_hz: Fraction, line_us: float
) -> None:
    record = record_of_flips([1, 2], 4, [100, 300], refresh_hz=refresh_hz, rows=rows)
    expected = 1000 / float(refresh_hz) + 200 * line_us / 1000
    assert frame_series(record).frame_time_ms[1] == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize(
    ("fps", "milliseconds"),
    # Common practice, no published source.
    [(60, 16.7), (30, 33.3)],
)
def test_frame_times_everybody_knows(fps: int, milliseconds: float) -> None:
    series = frame_series(record_of_holds([60 // fps] * 10))
    assert round(float(series.frame_time_ms[1]), 1) == milliseconds


@pytest.mark.parametrize("limit", [0.0, -1.0, float("nan")])
def test_a_still_limit_must_be_positive(limit: float) -> None:
    with pytest.raises(UsageError, match="still limit must be longer than 0 s"):
        frame_series(record_of_holds([1]), still_limit_s=limit)


def test_a_target_must_be_positive() -> None:
    with pytest.raises(UsageError, match="target frame rate must be positive"):
        frame_series(record_of_holds([1]), target_fps=Fraction(0))


def test_the_target_comes_from_the_caller_then_the_record_then_the_footage() -> None:
    record = replace(record_of_holds([2] * 30), target_fps=Fraction(60))
    told = frame_series(record, target_fps=Fraction(20))
    assert told.target_ms == pytest.approx(50)
    known = frame_series(record)
    assert known.target_ms == pytest.approx(1000 / 60)
    inferred = frame_series(replace(record, target_fps=None))
    assert inferred.target_ms == pytest.approx(2000 / 60)
    assert [each.target_is_inferred for each in (told, known, inferred)] == [False, False, True]


@given(records())
def test_spans_fill_the_capture_without_gap_or_overlap(record: TimingRecord) -> None:
    series = frame_series(record)
    assert series.start_s[0] == 0.0
    assert series.end_s[-1] == pytest.approx(float(series.duration_s), abs=1e-12)
    assert (series.start_s[1:] == series.end_s[:-1]).all()
    assert (series.frame_time_ms > 0).all()


@given(records())
def test_every_flip_starts_one_span(record: TimingRecord) -> None:
    series = frame_series(record)
    moments = flip_refreshes(
        record.flip_refresh, record.flip_row, record.source.picture_height, record.scan_out
    )
    hz = float(record.refresh_hz)
    np.testing.assert_allclose(series.start_s[series.flipped], moments / hz, atol=1e-12)
    assert (series.refresh[series.flipped] == record.flip_refresh).all()
    assert (series.tear_row[series.flipped] == record.tear_row).all()


@given(records(with_cuts=False))
def test_frame_times_sum_to_the_span_between_first_and_last_flip(record: TimingRecord) -> None:
    series = frame_series(record, still_limit_s=1e9)
    flips = series.start_s[series.flipped]
    between = flips[-1] - flips[0] if len(flips) else 0.0
    total = series.frame_time_ms[series.kind == FRAME].sum()
    assert total == pytest.approx(1000 * between, abs=1e-6)


@given(records(), st.sampled_from([Fraction(1, 2), Fraction(2), Fraction(3)]))
def test_scaling_time_scales_frame_times(record: TimingRecord, factor: Fraction) -> None:
    series = frame_series(record)
    scaled = frame_series(
        replace(record, refresh_hz=record.refresh_hz / factor), still_limit_s=0.5 * float(factor)
    )
    assert (scaled.kind == series.kind).all()
    np.testing.assert_allclose(scaled.frame_time_ms, series.frame_time_ms * float(factor))
