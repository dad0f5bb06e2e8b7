from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings

from pacerail.figure import Difference
from pacerail.record import TimingRecord
from pacerail.stats.comparison import compare_segments
from pacerail.stats.figures import DEFINITIONS
from pacerail.stats.frames import frame_series
from pacerail.stats.narration.compare import narrate_comparison
from pacerail.stats.segment import Segment
from tests.timing_records import record_of_flips, record_of_holds, records


def segment_of(record: TimingRecord) -> Segment:
    series = frame_series(record, target_fps=Fraction(60))
    return Segment(record, series, 0, record.refreshes)


def dropping(share: float, seed: int, seconds: int = 20) -> Segment:
    """Sixty a second with that share of frames held twice, in no order."""
    random = np.random.default_rng(seed)
    holds = np.ones(seconds * 60, np.int64)
    holds[: round(share * len(holds))] = 2
    random.shuffle(holds)
    return segment_of(record_of_holds(holds.tolist()))


def by_key(first: Segment, second: Segment) -> dict[str, Difference]:
    return {each.key: each for each in compare_segments(first, second)}


def test_every_figure_stands_side_by_side_in_the_order_of_the_table() -> None:
    differences = compare_segments(dropping(0.1, 1), dropping(0.2, 2))
    assert [each.key for each in differences] == [each.key for each in DEFINITIONS]
    for each in differences:
        if isinstance(each.first, str) or isinstance(each.second, str):
            assert each.difference == ""
        else:
            assert each.difference == each.first - each.second


def test_a_clear_difference_is_told() -> None:
    differences = by_key(dropping(0.05, 1), dropping(0.30, 2))
    rate, late = differences["mean_frame_rate_fps"], differences["late_share"]
    assert rate.is_told_apart
    assert late.is_told_apart
    assert isinstance(rate.lower, float)
    assert rate.lower > 0
    # 60 / 1.05 against 60 / 1.3 frames a second.
    assert rate.difference == pytest.approx(60 / 1.05 - 60 / 1.3, abs=1.5)


def test_two_runs_of_one_program_are_not_told_apart() -> None:
    told = [
        by_key(dropping(0.1, 2 * seed), dropping(0.1, 2 * seed + 1))["late_share"].is_told_apart
        for seed in range(20)
    ]
    assert sum(told) <= 3


def test_no_case_on_either_side_is_no_certainty() -> None:
    late = by_key(dropping(0.0, 1), dropping(0.0, 2))["late_share"]
    assert late.difference == 0.0
    # Clopper-Pearson for 0 of 1200: 1 - 0.025 ** (1 / 1200) on each side.
    assert late.upper == pytest.approx(1 - 0.025 ** (1 / 1200), rel=1e-6)
    assert not late.is_told_apart


def test_the_difference_turns_round_with_the_sides() -> None:
    one, other = dropping(0.1, 1), dropping(0.2, 2)
    there, back = by_key(one, other)["late_share"], by_key(other, one)["late_share"]
    assert not isinstance(there.difference, str)
    assert not isinstance(there.lower, str)
    assert back.difference == -there.difference
    assert back.upper == pytest.approx(-there.lower)


def test_intervals_only_where_a_figure_is_a_sum_over_a_sum() -> None:
    with_interval = {
        key for key, each in by_key(dropping(0.1, 1), dropping(0.2, 2)).items() if each.lower != ""
    }
    assert with_interval == {"mean_frame_rate_fps", "late_share", "torn_share"}


def test_short_segments_say_that_they_are_too_short() -> None:
    rate = by_key(dropping(0.1, 1, seconds=5), dropping(0.2, 2))["mean_frame_rate_fps"]
    assert rate.lower == "not measurable: an interval takes 10 s or more"
    assert not rate.is_told_apart


def sentences(first: Segment, second: Segment) -> list[str]:
    return [fact.sentence for fact in narrate_comparison(first, second, "Merle", "Wren")]


def test_better_is_said_only_where_the_footage_says_it() -> None:
    assert sentences(dropping(0.02, 1), dropping(0.4, 2)) == [
        "Merle averages about 59 frames per second, Wren about 43; Merle runs faster.",
        "On Merle 2 percent of frames came late, on Wren 40 percent of frames; "
        "Wren is late more often.",
        "No frame was torn on either platform, in samples of 1201 and 1201.",
    ]


def test_what_cannot_be_compared_is_said() -> None:
    nothing = segment_of(record_of_flips([], 900))
    facts = narrate_comparison(nothing, dropping(0.1, 1), "Merle", "Wren")
    assert facts[0].sentence == "The frame rates of Merle and Wren cannot be compared."
    assert facts[0].exact.startswith("Merle: not measurable: no part of the segment")
    short = sentences(dropping(0.1, 1, seconds=5), dropping(0.4, 2))
    assert short[0].endswith("; the footage is too short to say whether that is chance.")


def test_rates_that_sound_the_same_are_said_once() -> None:
    told = sentences(dropping(0.1, 1), dropping(0.1, 2))
    assert told[0] == "Both average about 55 frames per second."


def against(target: Fraction, holds: list[int], tear_rows: list[float] | None = None) -> Segment:
    record = record_of_holds(holds)
    if tear_rows is not None:
        record = replace(record, tear_row=np.array(tear_rows))
    return Segment(record, frame_series(record, target_fps=target), 0, record.refreshes)


def test_late_frames_beyond_different_limits_are_not_compared() -> None:
    one, other = against(Fraction(60), [1] * 900), against(Fraction(30), [2] * 450)
    late = by_key(one, other)["late_share"]
    assert (
        late.lower == late.upper == "not measurable: the two are late beyond different frame times"
    )
    assert (
        "A frame is late beyond 25 milliseconds on Merle and beyond 42 milliseconds on Wren, "
        "so their late frames cannot be compared."
    ) in sentences(one, other)
    faster = record_of_holds([2] * 900, refresh_hz=120)
    finer = Segment(faster, frame_series(faster, target_fps=Fraction(60)), 0, faster.refreshes)
    assert by_key(one, finer)["late_share"].lower == late.lower
    # 60 and 59.94 frames a second are one target on displays of those rates.
    near = against(Fraction(60000, 1001), [1] * 900)
    assert isinstance(by_key(one, near)["late_share"].lower, float)


def test_what_happened_on_each_is_told_with_its_moments() -> None:
    one = against(Fraction(60), [1] * 60 + [12] + [1] * 60)
    other = against(Fraction(60), [1] * 60 + [40] + [1] * 60)
    facts = {fact.topic: fact for fact in narrate_comparison(one, other, "Merle", "Wren")}
    assert facts["stalls"].sentence == (
        "Merle has one stall, of 200 milliseconds; Wren has no stall."
    )
    assert facts["stalls"].exact == "Merle: 200.000 ms at 0:01.017; Wren: none"
    assert facts["still spans"].sentence == (
        "Merle stands still at no time, Wren for 667 milliseconds; "
        "pause or stall, it is left out of the frame rates."
    )
    for fact in facts.values():
        assert fact.times_s == ((0.0, one.end_s), (0.0, other.end_s))


@pytest.mark.parametrize(
    ("torn", "flips", "words"),
    [
        ((1, 7), (50, 50), "On Merle 1 of 50 frames was torn, on Wren 7 of 50 frames; "),
        ((0, 60), (50, 120), "On Merle no frame was torn, on Wren 50 percent of frames; "),
        ((1, 0), (150, 50), "On Merle less than 1 percent of frames were torn, on Wren no frame; "),
    ],
)
def test_shares_of_few_are_told_as_counts(
    torn: tuple[int, int], flips: tuple[int, int], words: str
) -> None:
    segments = [
        against(Fraction(60), [1] * (n - 1), [540.0] * k + [0.0] * (n - k))
        for k, n in zip(torn, flips, strict=True)
    ]
    (tears,) = [each for each in sentences(*segments) if "torn" in each]
    assert tears == words + "the footage is too short to say whether that is chance."


def test_doubtful_verdicts_on_either_side_come_first() -> None:
    sure = dropping(0.1, 1)
    margin = np.where(np.arange(sure.record.refreshes) % 10 == 5, 0.1, 2.0).astype(np.float32)
    unsure = segment_of(replace(sure.record, margin=margin))
    first, *_ = sentences(sure, unsure)
    count = int((margin[1:] < 1).sum())
    assert first == (
        f"Treat this comparison with care: no refresh of Merle and {count} of Wren could not be "
        "judged surely."
    )


@settings(max_examples=60)
@given(records(), records())
def test_facts_of_any_two_are_plain_sentences_with_a_time_of_each(
    one: TimingRecord, other: TimingRecord
) -> None:
    segments = segment_of(one), segment_of(other)
    facts = narrate_comparison(*segments, "Merle", "Wren")
    assert "frame rate" in {fact.topic for fact in facts}
    for fact in facts:
        assert re.fullmatch(r"[A-Z].*\.", fact.sentence)
        assert "nan" not in fact.sentence + fact.exact
        assert fact.exact
        assert fact.times_s == tuple((each.start_s, each.end_s) for each in segments)
        # Five seconds of footage at most are no ground for a claim.
        assert not re.search("runs faster|more often", fact.sentence)


@settings(max_examples=60)
@given(records(), records())
def test_turning_the_sides_round_turns_every_difference_round(
    one: TimingRecord, other: TimingRecord
) -> None:
    there = compare_segments(segment_of(one), segment_of(other))
    back = compare_segments(segment_of(other), segment_of(one))
    for first, second in zip(there, back, strict=True):
        assert (first.first, first.second) == (second.second, second.first)
        if not isinstance(first.difference, str):
            assert first.difference == -float(second.difference)
