"""A figure is the same wherever it is printed: facts, tables, report, readout and strip."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace

import pytest

from demo.encode import write_capture
from demo.platforms import ENCODING, PLATFORMS
from pacerail.cli.report import record_report
from pacerail.draw.reading import Reader
from pacerail.draw.style import load_style
from pacerail.export.tables import value_text
from pacerail.figure import Figure
from pacerail.pipeline.drawing import captioned
from pacerail.pipeline.facts import account_of, facts_text
from pacerail.pipeline.graphic import Graphic, track_of
from pacerail.pipeline.measuring import measure
from pacerail.pipeline.passage import Episode, Passage
from pacerail.pipeline.tables import figures_of, write_comparison, write_table
from pacerail.pipeline.tracks import DEFAULTS
from pacerail.stats.spoken import spoken_rate, spoken_share

# Five seconds with a stall, late frames and, on one side, tears.
REFRESHES = 300


@pytest.fixture(scope="module")
def passages(tmp_path_factory: pytest.TempPathFactory) -> tuple[Passage, Passage]:
    """The beginning of both demonstration captures, measured."""
    folder = tmp_path_factory.mktemp("demo")
    made = []
    for platform in PLATFORMS:
        path = folder / f"{platform.label}.mp4"
        write_capture(path, replace(platform.simulation(160, 90), refreshes=REFRESHES), ENCODING)
        record = measure(path)
        made.append(Passage(record, platform.label, 0, record.refreshes))
    first, second = made
    return first, second


@pytest.fixture(params=[0, 1], ids=[platform.label for platform in PLATFORMS])
def passage(request: pytest.FixtureRequest, passages: tuple[Passage, Passage]) -> Passage:
    chosen: int = request.param
    return passages[chosen]


def figures(passage: Passage) -> dict[str, Figure]:
    return {figure.key: figure for figure in figures_of(passage.record)}


def number(passage: Passage, key: str) -> float:
    value = figures(passage)[key].value
    assert not isinstance(value, str)
    return value


def table(passage: Passage, name: str) -> list[dict[str, str]]:
    stream = io.StringIO(newline="")
    write_table(passage.record, name, DEFAULTS, 0, REFRESHES, stream)
    return list(csv.DictReader(io.StringIO(stream.getvalue(), newline="")))


def sentences(passage: Passage) -> dict[str, str]:
    account = account_of(Episode("", (passage,)), DEFAULTS).platforms[0]
    return {fact.topic: fact.sentence for fact in account.facts}


def test_tables_and_texts_hold_the_figures(
    passages: tuple[Passage, Passage], passage: Passage
) -> None:
    expected = {key: value_text(figure.value) for key, figure in figures(passage).items()}
    assert {row["figure"]: row["value"] for row in table(passage, "summary")} == expected

    alone, both = [Episode("", (passage,))], [Episode("", passages)]
    markdown = facts_text(alone, "markdown", DEFAULTS)
    for key, text in expected.items():
        assert f"| {key} | {text} |" in markdown
    told = json.loads(facts_text(alone, "json", DEFAULTS))
    beside = json.loads(facts_text(both, "json", DEFAULTS))
    (platform,) = [each for each in beside["platforms"] if each["title"] == passage.label]
    for listed in (told["figures"], platform["figures"]):
        assert {each["figure"]: value_text(each["value"]) for each in listed} == expected

    stream = io.StringIO(newline="")
    write_comparison(*passages, DEFAULTS, stream)
    rows = list(csv.DictReader(io.StringIO(stream.getvalue(), newline="")))
    assert {row["figure"]: row[passage.label] for row in rows} == expected


def test_sentences_speak_the_figures(passage: Passage) -> None:
    said = sentences(passage)
    rate = spoken_rate(number(passage, "mean_frame_rate_fps"))
    assert f"averages {rate} frames per second" in said["frame rate"]
    late, frames = (int(number(passage, key)) for key in ("late_frames", "frames"))
    assert f"{late} of {frames} frames came late" in said["pace"]
    assert spoken_share(number(passage, "on_pace_time_share")) in said["pace"]
    torn, flips = (int(number(passage, key)) for key in ("torn_flips", "flips"))
    share = spoken_share(number(passage, "torn_share")).capitalize()
    assert said["tears"] == (
        f"{share} of frames are torn."
        if torn
        else f"No tear was seen in this sample of {flips} frames."
    )


def test_the_report_of_measuring_shows_them(passage: Passage) -> None:
    report = record_report(passage.record, figures_of(passage.record))
    shown = dict(re.findall(r"^(.+?)  +(.*)$", report, re.MULTILINE))
    assert shown["mean frame rate"] == f"{number(passage, 'mean_frame_rate_fps'):.2f} fps"
    assert shown["late frames"] == str(number(passage, "late_frames"))
    assert shown["torn share"] == f"{number(passage, 'torn_share'):.1%}"


def test_the_readout_ends_with_them(passage: Passage) -> None:
    style = load_style("quay")
    track = track_of(passage.record, Graphic(style, passage.label))
    style = replace(style, readout=replace(style.readout, show=("frame_time", "late", "torn")))
    reading = Reader(track, style).read((REFRESHES - 0.5) / 60)
    shown = dict(zip(style.readout.show, reading.details, strict=True))
    assert int(shown["late"]) == number(passage, "late_frames")
    assert float(shown["torn"]) == pytest.approx(100 * number(passage, "torn_share"), abs=0.05)

    last = [row for row in table(passage, "rates") if row["frame_time_ms"]][-1]
    reading = Reader(track, style).read((int(last["refresh"]) + 0.5) / 60)
    shown = dict(zip(style.readout.show, reading.details, strict=True))
    assert float(shown["frame_time"]) == pytest.approx(float(last["frame_time_ms"]), abs=0.051)
    assert float(reading.frame_rate) == pytest.approx(float(last["frame_rate_fps"]), abs=0.51)


def test_the_caption_of_a_strip_is_made_of_the_facts(
    passages: tuple[Passage, Passage], passage: Passage
) -> None:
    account = account_of(Episode("", (passage,)), DEFAULTS).platforms[0]
    said = sentences(passage)
    assert captioned(account.facts) == [said["frame rate"], said["pace"], said["tears"]]
    comparison = account_of(Episode("", passages), DEFAULTS).comparison
    assert comparison is not None
    rate = spoken_rate(number(passage, "mean_frame_rate_fps"))
    assert rate in captioned(comparison.facts)[0]
