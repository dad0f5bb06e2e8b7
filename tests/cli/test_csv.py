from __future__ import annotations

import csv
import io
from dataclasses import replace
from pathlib import Path

import pytest

from pacerail.figure import EventKind
from pacerail.record import load_record
from tests.capture.recordings import record_holds
from tests.cli.running import Runner

HEADERS = {
    "refreshes": "refresh,time_s,verdict,tear_rows,margin",
    "frames": "frame,refresh,tear_row,flip_s,frame_time_ms,refreshes_held",
    "rates": "refresh,time_s,frame_rate_fps,frame_time_ms",
    "summary": "figure,value,unit,definition",
    "events": "start_s,end_s,kind,size,unit,refresh",
    "definitions": "name,unit,definition",
}


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


@pytest.mark.parametrize("table", HEADERS)
def test_columns_and_line_ends(run: Runner, record: Path, tmp_path: Path, table: str) -> None:
    output = tmp_path / "table.csv"
    assert run("csv", record, "--table", table, "-o", output).status == 0
    text = output.read_bytes().decode()
    header, *lines = text.split("\r\n")
    assert header == HEADERS[table]
    assert lines[-1] == ""
    assert "\n" not in "".join(lines)
    outcome = run("csv", record, "--table", table)
    assert (outcome.status, outcome.err) == (0, "")
    assert outcome.out == text


def test_a_segment_is_cut_at_its_times(run: Runner, record: Path) -> None:
    outcome = run(
        "csv", record, "--table", "refreshes", "--from", "0:00.500", "--to", "00:00:01:00"
    )
    listed = rows(outcome.out)
    assert [row["refresh"] for row in listed] == [str(index) for index in range(30, 60)]
    assert float(listed[0]["time_s"]) == 0.5


def test_an_end_beyond_the_capture_is_its_end(run: Runner, record: Path) -> None:
    outcome = run("csv", record, "--table", "refreshes", "--from", "1.9", "--to", "1:00")
    assert [row["refresh"] for row in rows(outcome.out)] == [
        str(index) for index in range(114, 120)
    ]


def test_the_window_reaches_the_rates(run: Runner, tmp_path: Path) -> None:
    capture = record_holds(tmp_path / "a.mp4", [1] * 60 + [2] * 30)
    assert run("measure", capture).status == 0
    rates = {
        window: [
            float(row["frame_rate_fps"])
            for row in rows(
                run("csv", tmp_path / "a.timing.npz", "--table", "rates", "--window", window).out
            )
            if row["frame_rate_fps"]
        ]
        for window in ("100ms", "1s")
    }
    assert rates["100ms"][80] == pytest.approx(30)
    assert 30 < rates["1s"][80] < 60


def test_timecode_counts_from_the_start_timecode_of_the_file(run: Runner, tmp_path: Path) -> None:
    capture = record_holds(tmp_path / "a.mp4", [1] * 120, timecode="10:00:00:00")
    assert run("measure", capture).status == 0
    record = tmp_path / "a.timing.npz"
    outcome = run("csv", record, "--table", "refreshes", "--from", "10:00:01:30")
    assert rows(outcome.out)[0]["refresh"] == "90"
    outcome = run("csv", record, "--table", "refreshes", "--from", "00:00:01:30")
    assert outcome.status == 2
    assert "Error: timecode must not lie before that of the first picture" in outcome.err


def test_every_figure_is_defined(run: Runner, record: Path) -> None:
    definitions = rows(run("csv", record, "--table", "definitions").out)
    summary = rows(run("csv", record, "--table", "summary").out)
    known = {row["name"]: (row["unit"], row["definition"]) for row in definitions}
    assert len(known) == len(definitions)
    assert [known[row["figure"]] for row in summary] == [
        (row["unit"], row["definition"]) for row in summary
    ]
    assert known.keys() >= set(EventKind)


def test_cuts_of_an_older_record_are_said_to_be_unknown(
    run: Runner, record: Path, tmp_path: Path
) -> None:
    older = tmp_path / "older.timing.npz"
    replace(load_record(record), cut_refresh=None).save(older, overwrite=False)
    outcome = run("csv", older, "--table", "events")
    assert outcome.status == 0
    assert outcome.err.startswith("Note: cuts were not looked for when the record of ")
    assert run("csv", older, "--table", "frames").err == ""
    assert run("markers", older, "--format", "webvtt").err == outcome.err


def test_events_and_timecode(run: Runner, tmp_path: Path) -> None:
    capture = record_holds(
        tmp_path / "a.mp4", [1] * 30 + [12] + [1] * 18 + [40], timecode="10:00:00:00"
    )
    assert run("measure", capture).status == 0
    events = rows(run("csv", tmp_path / "a.timing.npz", "--table", "events", "--timecode").out)
    assert [(row["kind"], row["refresh"], row["timecode"]) for row in events] == [
        ("stall", "30", "10:00:00:30"),
        ("still span", "60", "10:00:01:00"),
    ]


@pytest.mark.parametrize("table", ["summary", "definitions"])
def test_timecode_needs_rows_of_refreshes(run: Runner, record: Path, table: str) -> None:
    outcome = run("csv", record, "--table", table, "--timecode")
    assert outcome.status == 2
    assert outcome.err.startswith("Error: --timecode must go with a table of refreshes")
