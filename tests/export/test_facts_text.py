from __future__ import annotations

import json

from hypothesis import given

from pacerail.export.facts_text import facts_as_json, facts_as_markdown, facts_as_text
from pacerail.figure import Fact, Figure
from pacerail.record import TimingRecord
from pacerail.stats.frames import frame_series
from pacerail.stats.narration.narrate import narrate
from pacerail.stats.summary import summarise
from tests.timing_records import records

FACTS = (
    Fact("frame rate", "The frame rate averages 60 frames per second.", "59.940 fps", ((0, 12.5),)),
    Fact("tears", "4 of 9 flips are torn.", "4 of 9", ((1, 2), (3, 4), (5, 6), (7, 8))),
)
FIGURES = (
    Figure("flips", 9, "", "flips in the segment"),
    Figure("mean_frame_rate_fps", 59.94, "fps", "frames over time"),
    Figure("late_share", "not measurable: no frame", "", "late frames over frames"),
)


def test_text() -> None:
    assert facts_as_text(FACTS) == (
        "The frame rate averages 60 frames per second. [59.940 fps; 0:00.000 to 0:12.500]\n"
        "4 of 9 flips are torn. [4 of 9; 0:01.000 to 0:02.000, 0:03.000 to 0:04.000, "
        "0:05.000 to 0:06.000 and 1 more]\n"
    )


def test_markdown() -> None:
    assert facts_as_markdown(FACTS[:1], FIGURES, "harbour.mkv") == (
        "# harbour.mkv\n"
        "\n"
        "- **The frame rate averages 60 frames per second.** 59.940 fps; 0:00.000 to 0:12.500\n"
        "\n"
        "| figure | value | unit | definition |\n"
        "| --- | ---: | --- | --- |\n"
        "| flips | 9 |  | flips in the segment |\n"
        "| mean_frame_rate_fps | 59.940000 | fps | frames over time |\n"
        "| late_share | not measurable: no frame |  | late frames over frames |\n"
    )


def test_json_holds_every_time_and_the_figures_as_numbers() -> None:
    told = json.loads(facts_as_json(FACTS, FIGURES, "harbour.mkv"))
    assert told["title"] == "harbour.mkv"
    assert told["facts"][1] == {
        "topic": "tears",
        "sentence": "4 of 9 flips are torn.",
        "exact": "4 of 9",
        "times_s": [[1, 2], [3, 4], [5, 6], [7, 8]],
    }
    assert [figure["value"] for figure in told["figures"]] == [9, 59.94, "not measurable: no frame"]


@given(records(max_refreshes=80))
def test_json_is_strict_json(record: TimingRecord) -> None:
    series = frame_series(record)
    text = facts_as_json(narrate(record, series), summarise(record, series), "a.mp4")

    def refuse(constant: str) -> None:
        raise AssertionError(f"{constant} is not JSON")

    json.loads(text, parse_constant=refuse)
