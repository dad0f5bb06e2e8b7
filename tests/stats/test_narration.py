from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacerail.figure import Fact
from pacerail.plural import plural
from pacerail.record import TimingRecord
from pacerail.stats.frames import frame_series
from pacerail.stats.narration.narrate import narrate
from pacerail.stats.spoken import (
    spoken_duration,
    spoken_number,
    spoken_rate,
    spoken_share,
)
from tests.timing_records import record_of_flips, record_of_holds, records


def facts_of(record: TimingRecord) -> dict[str, list[Fact]]:
    result: dict[str, list[Fact]] = {}
    for fact in narrate(record, frame_series(record)):
        result.setdefault(fact.topic, []).append(fact)
    return result


def sentence_of(record: TimingRecord, topic: str) -> str:
    (fact,) = facts_of(record)[topic]
    return fact.sentence


def test_a_clean_sample_says_how_far_it_can_be_trusted() -> None:
    (fact,) = facts_of(record_of_holds([1] * 600))["pace"]
    assert fact.sentence == (
        "Against an inferred target of 60 frames per second, no frame came late and no "
        "refresh was missed in this sample of 600 frames."
    )
    # Upper bounds for 0 of 600: 0.613 % two-sided exact, 0.5 % by the rule of three.
    assert "95 % interval 0 to 0.613 % (Clopper-Pearson)" in fact.exact
    assert "below 0.5 % by the rule of three" in fact.exact
    assert "not independent" in fact.exact
    (tears,) = facts_of(record_of_flips(range(1, 601), 602))["tears"]
    assert "below 0.5 % by the rule of three" in tears.exact


def test_late_frames_are_told_against_the_target_that_was_given() -> None:
    record = replace(record_of_holds([1] * 30 + [2] * 10), target_fps=Fraction(60))
    assert sentence_of(record, "pace") == (
        "Against the target of 60 frames per second, 10 of 40 frames came late; "
        "frames were on pace for 60 percent of the time."
    )


def test_one_missed_refresh_is_one() -> None:
    (fact,) = facts_of(record_of_holds([1] * 30 + [2] + [1] * 30))["pace"]
    assert "inferred; 1 missed refresh; on pace" in fact.exact


def test_bad_pacing_is_named_with_its_time() -> None:
    told = facts_of(record_of_holds([2] * 60 + [1, 3] * 63 + [2] * 60))["cadence"]
    assert [fact.sentence for fact in told] == [
        "30 frames per second, evenly paced 2:2, for 2 seconds.",
        "30 frames per second, badly paced 1:3, for 4.2 seconds.",
        "30 frames per second, evenly paced 2:2, for 2 seconds.",
    ]
    assert told[1].times_s[0] == pytest.approx((121 / 60, 373 / 60))


def test_a_stretch_too_short_for_a_pattern_is_not_told() -> None:
    told = facts_of(record_of_holds([1, 2, 4, 1, 3] + [1] * 60))["cadence"]
    assert [fact.sentence for fact in told] == [
        "60 frames per second, evenly paced 1:1, for 1 second."
    ]


def test_40_in_120_hz() -> None:
    (fact,) = facts_of(record_of_holds([3] * 200, refresh_hz=120))["cadence"]
    assert fact.sentence == "40 frames per second, evenly paced 3:3, for 5 seconds."
    assert fact.exact.startswith("40.000 fps in 120 Hz, 3:3")


def test_pulldown_is_neither_even_nor_bad_and_lapses_are_told() -> None:
    (fact,) = facts_of(record_of_holds([3, 2] * 60 + [3, 3] + [3, 2] * 60))["cadence"]
    assert fact.sentence.startswith("24 frames per second, paced 3:2 but for ")


@pytest.mark.parametrize(
    ("holds", "sentence"),
    [
        ([2] * 50, "Every frame is held for 2 refreshes."),
        ([1] * 30 + [2] * 10, "30 of 40 frames are held for 1 refresh."),
        ([1] * 900 + [2] * 100, "90 percent of frames are held for 1 refresh."),
    ],
)
def test_holds(holds: list[int], sentence: str) -> None:
    assert sentence_of(record_of_holds(holds), "holds") == sentence


def test_the_histogram_and_the_main_pattern_stand_beside_the_holds() -> None:
    (fact,) = facts_of(record_of_holds([1] * 120 + [2] * 15))["holds"]
    assert fact.exact == "refreshes x frames: 1 x 120; 2 x 15; 1:1 for 80.0 % of the measured time"


def test_stalls_are_listed_with_their_moments() -> None:
    record = record_of_holds([1] * 60 + [12] + [1] * 60 + [8] + [1] * 60)
    (fact,) = facts_of(record)["stalls"]
    assert fact.sentence == "There are 2 stalls, the longest of 200 milliseconds."
    assert fact.exact == "200.000 ms at 0:01.017; 133.333 ms at 0:02.217"
    assert len(fact.times_s) == 2
    one = record_of_holds([1] * 60 + [12] + [1] * 60)
    assert sentence_of(one, "stalls") == "There is one stall, of 200 milliseconds."


def test_many_moments_are_counted_beyond_eight() -> None:
    (fact,) = facts_of(record_of_holds(([1] * 20 + [7]) * 12))["stalls"]
    assert fact.exact.count(" at ") == 8
    assert fact.exact.endswith("; and 4 more")
    assert len(fact.times_s) == 12


def test_the_one_percent_low_takes_a_hundred_frames() -> None:
    assert "slowest frames" not in facts_of(record_of_holds([1] * 99))
    (fact,) = facts_of(record_of_holds([1] * 99 + [6] + [1] * 99 + [12]))["slowest frames"]
    assert fact.sentence == (
        "99 percent of frames came at 60 frames per second or faster; "
        "the slowest 1 percent averaged 6.7."
    )
    assert "by quantile 60.000 fps" in fact.exact
    assert "by mean 6.667 fps" in fact.exact


@pytest.mark.parametrize(
    ("torn", "flips", "sentence"),
    [
        (0, 50, "No tear was seen in this sample of 50 frames."),
        (1, 50, "1 of 50 frames is torn."),
        (7, 50, "7 of 50 frames are torn."),
        (50, 50, "Every frame is torn."),
        (30, 200, "15 percent of frames are torn."),
        (1, 200, "Less than 1 percent of frames are torn."),
    ],
)
def test_tears(torn: int, flips: int, sentence: str) -> None:
    rows = [540.0] * torn + [0.0] * (flips - torn)
    record = record_of_flips(list(range(1, flips + 1)), flips + 2, rows)
    (fact,) = facts_of(record)["tears"]
    assert fact.sentence == sentence
    assert len(fact.times_s) == max(torn, 1)


def test_a_rate_of_part_of_the_segment_is_not_said_of_all_of_it() -> None:
    record = record_of_flips([*range(1, 61), *range(120, 181)], 182)
    assert sentence_of(record, "frame rate") == (
        "The frame rate averages 60 frames per second, measured over 2 seconds of 3 seconds."
    )
    assert sentence_of(record, "still spans") == (
        "The picture stands still for 1 second; this is left out of the frame rate."
    )


def test_faults_are_the_recordings_own() -> None:
    record = record_of_flips([1, 2, 3, 8], 10, faults=[5], firsts=[6])
    assert sentence_of(record, "capture faults") == (
        "The recording lost 1 refresh, which is not counted as the program's."
    )


def test_uncertain_verdicts_warn_before_all_else() -> None:
    record = record_of_holds([1] * 100)
    margin = np.where(np.arange(record.refreshes) % 10 == 5, 0.1, 2.0).astype(np.float32)
    first = narrate(replace(record, margin=margin), frame_series(record))[0]
    assert first.sentence == (
        "Treat these figures with care: 10 refreshes could not be judged surely."
    )
    few = replace(record, margin=np.where(margin < 1, 2.0, margin).astype(np.float32))
    assert narrate(few, frame_series(few))[0].topic == "extent"


def test_notes_of_the_measurement_are_kept() -> None:
    record = replace(record_of_holds([1] * 9), notes=("the file ends early",))
    assert sentence_of(record, "note") == "The file ends early."


def test_no_flip() -> None:
    facts = facts_of(record_of_flips([], 20))
    assert list(facts) == ["extent", "frame rate"]
    assert (
        facts["extent"][0].sentence == "The segment lasts 333 milliseconds and brings no new frame."
    )
    assert facts["frame rate"][0].sentence == "The frame rate cannot be told."


@given(records(), st.data())
def test_facts_are_plain_sentences_with_times_inside_the_capture(
    record: TimingRecord, data: st.DataObject
) -> None:
    first = data.draw(st.integers(0, record.refreshes - 1))
    end = data.draw(st.integers(first + 1, record.refreshes))
    for fact in narrate(record, frame_series(record), first, end):
        assert re.fullmatch(r"[A-Z0-9].*\.", fact.sentence)
        assert "nan" not in fact.sentence + fact.exact
        assert fact.exact
        assert fact.times_s
        for start_s, end_s in fact.times_s:
            assert 0 <= start_s < end_s <= float(record.refreshes / record.refresh_hz) + 1e-9


@pytest.mark.parametrize(
    ("value", "text"),
    [(59.94, "60"), (9.96, "10"), (9.94, "9.9"), (6.0, "6"), (0.456, "0.46"), (144.2, "144")],
)
def test_numbers_as_spoken(value: float, text: str) -> None:
    assert spoken_number(value) == text


@pytest.mark.parametrize(("fps", "text"), [(59.94, "60"), (47.3, "about 47"), (30.0, "30")])
def test_rates_as_spoken(fps: float, text: str) -> None:
    assert spoken_rate(fps) == text


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (0.0, "0 percent"),
        (0.002, "less than 1 percent"),
        (0.124, "12 percent"),
        (0.9999, "more than 99 percent"),
        (1.0, "100 percent"),
    ],
)
def test_shares_as_spoken(share: float, text: str) -> None:
    assert spoken_share(share) == text


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0.08, "80 milliseconds"),
        (0.9999, "1 second"),
        (4.2, "4.2 seconds"),
        (59.97, "1 minute"),
        (125.0, "2 minutes 5 seconds"),
        (61.0, "1 minute 1 second"),
    ],
)
def test_durations_as_spoken(seconds: float, text: str) -> None:
    assert spoken_duration(seconds) == text


def test_plurals() -> None:
    assert [plural(count, "frame") for count in (0, 1, 2)] == ["no frame", "1 frame", "2 frames"]


def test_where_figures_would_be_guesses_none_is_told() -> None:
    record = record_of_holds([2] * 60)
    doubtful = np.where(np.arange(record.refreshes) % 4 == 1, 0.1, 3).astype(np.float32)
    facts = facts_of(replace(record, margin=doubtful))
    assert set(facts) <= {"guesswork", "capture faults", "note"}
    (fact,) = facts["guesswork"]
    assert "does not show how this segment runs" in fact.sentence
    assert "not measurable: 31 of 122" in fact.exact
