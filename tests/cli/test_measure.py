from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from pacerail.record import Verdict, load_record
from tests.capture.recordings import record as make_recording
from tests.capture.recordings import record_holds
from tests.capture.test_open import INTERLACED
from tests.cli.running import Runner, names


def test_the_record_lies_beside_the_capture_and_the_facts_are_shown(
    run: Runner, capture: Path
) -> None:
    outcome = run("measure", capture)
    assert (outcome.status, outcome.err) == (0, "")
    assert names(capture.parent) == {"glider.mp4", "glider.timing.npz"}
    lines = dict(line.split("  ", 1) for line in outcome.out.splitlines())
    facts = {name.strip(): text.strip() for name, text in lines.items()}
    assert facts["capture"] == "glider.mp4, 128x96 h264"
    assert facts["length"] == "0:02.000, 120 refreshes at 60 Hz"
    assert facts["verdicts"] == "1 first, 59 new, 60 held, 0 fault"
    assert facts["mean frame rate"] == "30.00 fps"
    assert facts["frame time median"] == "33.33 ms"
    assert len({line.index(facts[line.split("  ")[0]]) for line in outcome.out.splitlines()}) == 1


def test_what_cannot_be_measured_says_why(run: Runner, tmp_path: Path) -> None:
    outcome = run("measure", record_holds(tmp_path / "a.mp4", [20]))
    assert outcome.status == 0
    assert "verdicts             1 first, 0 new, 19 held, 0 fault\n" in outcome.out
    told = [line for line in outcome.out.splitlines() if line.startswith("mean frame rate")]
    assert told[0].startswith("mean frame rate      not measurable: ")
    assert not told[0].endswith("fps")
    assert "nan" not in outcome.out


def test_the_record_goes_where_it_is_told(run: Runner, capture: Path) -> None:
    assert run("measure", capture, "-o", capture.parent / "mine.npz").status == 0
    assert names(capture.parent) == {"glider.mp4", "mine.npz"}
    record = load_record(capture.parent / "mine.npz")
    assert record.source.name == "glider.mp4"
    assert record.source.size_bytes == capture.stat().st_size


def test_options_reach_the_record(run: Runner, capture: Path) -> None:
    options = ["--target-fps", "29.97", "--refresh-hz", "59.94", "--ignore", "0,0,0.1,0.1"]
    assert run("measure", capture, *options).status == 0
    record = load_record(capture.with_suffix(".timing.npz"))
    assert record.target_fps == Fraction(30_000, 1001)
    assert record.refresh_hz == Fraction(60_000, 1001)
    assert "0,0,0.1,0.1" in str(record.settings)


@pytest.mark.parametrize("options", [["--watch", "0,0,0.5,1"], ["--ignore", "0.5,0,0.5,1"]])
def test_only_what_is_watched_decides(run: Runner, tmp_path: Path, options: list[str]) -> None:
    frames = [(index // 2, index) for index in range(60)]
    capture = make_recording(tmp_path / "a.mp4", range(60), frames=frames, size=(256, 128))
    assert run("measure", capture, *options).status == 0
    record = load_record(tmp_path / "a.timing.npz")
    assert record.flip_refresh.tolist() == list(range(2, 60, 2))
    assert run("measure", capture, "--overwrite").status == 0
    record = load_record(tmp_path / "a.timing.npz")
    assert record.flip_refresh.tolist() == list(range(1, 60))


def test_mp4_and_matroska_give_the_same_record(run: Runner, tmp_path: Path) -> None:
    holds = [2, 1, 3, 1, 1, 2, 4, 1] * 6
    records = []
    for name in ("a.mp4", "b.mkv"):
        capture = record_holds(tmp_path / name, holds)
        assert run("measure", capture).status == 0
        records.append(load_record(capture.with_suffix(".timing.npz")))
    first, second = records
    assert first.refresh_hz == second.refresh_hz == 60
    for column in ("verdict", "score", "margin", "flip_refresh", "tear_row"):
        np.testing.assert_array_equal(getattr(first, column), getattr(second, column))
    tables = [
        run("csv", tmp_path / name, "--table", table).out
        for table in ("refreshes", "frames", "rates", "summary")
        for name in ("a.timing.npz", "b.timing.npz")
    ]
    assert tables[0::2] == tables[1::2]


def test_a_cut_file_is_measured_and_the_loss_told(run: Runner, tmp_path: Path) -> None:
    capture = record_holds(tmp_path / "a.mkv", [2] * 120)
    capture.write_bytes(capture.read_bytes()[: capture.stat().st_size // 2])
    outcome = run("measure", capture)
    assert outcome.status == 0
    assert outcome.err.startswith("Note: the file ends ")
    assert "what is there was measured" in outcome.err
    record = load_record(capture.with_suffix(".timing.npz"))
    assert 60 < record.refreshes < 200
    assert any("the file ends" in note for note in record.notes)


def test_lost_refreshes_are_faults(run: Runner, tmp_path: Path) -> None:
    capture = make_recording(tmp_path / "a.mkv", [*range(20), *range(25, 60)])
    outcome = run("measure", capture)
    assert outcome.err == (
        "Note: refreshes that the recording lost, counted as capture faults: 5; "
        "if the recorder leaves out pictures that repeat, pass --gaps held\n"
    )
    record = load_record(capture.with_suffix(".timing.npz"))
    assert np.flatnonzero(record.verdict == Verdict.FAULT).tolist() == list(range(20, 25))


def test_a_recorder_that_leaves_out_repeats_can_be_told(run: Runner, tmp_path: Path) -> None:
    holds = [2, 1, 3, 1, 2, 4, 1, 1] * 6
    whole = record_holds(tmp_path / "whole.mp4", holds)
    starts = np.cumsum([0, *holds[:-1]]).tolist()
    sparse = make_recording(tmp_path / "sparse.mkv", starts)
    for capture, options in ((whole, []), (sparse, ["--gaps", "held"])):
        assert run("measure", capture, *options).status == 0
    records = [load_record(tmp_path / f"{name}.timing.npz") for name in ("whole", "sparse")]
    flips = [record.flip_refresh.tolist() for record in records]
    assert flips[0] == flips[1] == starts[1:]
    assert "refreshes without a picture, taken as held: " in "".join(records[1].notes)


def test_interlaced_pictures_need_to_be_asked_for(run: Runner, tmp_path: Path) -> None:
    capture = make_recording(tmp_path / "a.mp4", range(10), options=INTERLACED)
    refused = run("measure", capture)
    assert refused.status == 1
    assert "capture must be progressive" in refused.err
    assert "pass --interlaced" in refused.err
    told = run("measure", capture, "--interlaced")
    assert told.status == 0
    assert "Note: interlaced pictures read as if they were progressive: 10" in told.err


def test_a_hardware_decoder_that_is_not_there_is_noted(run: Runner, capture: Path) -> None:
    outcome = run("measure", capture, "--hwaccel", "abacus")
    assert outcome.status == 0
    assert outcome.err.startswith("Note: hardware decoder abacus cannot be used")
