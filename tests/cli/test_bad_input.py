"""Everything that can be wrong with a request: one clear line, the right status, no file."""

from __future__ import annotations

import resource
from pathlib import Path

import pytest

from tests.capture.recordings import record as make_recording
from tests.capture.recordings import record_holds, record_sound
from tests.cli.running import Outcome, Runner, names, run_apart


def assert_refused(outcome: Outcome, status: int, words: str) -> None:
    assert outcome.err.startswith("Error: ")
    assert words in outcome.err
    assert outcome.err.count("\n") == 1
    assert outcome.out == ""
    assert outcome.status == status


def make(kind: str, folder: Path) -> Path:
    """Something that is no capture."""
    path = folder / f"{kind}.mp4"
    if kind == "folder":
        path.mkdir()
    elif kind == "empty":
        path.touch()
    elif kind == "text":
        path.write_text("Dear harbour master,\n" * 100)
    elif kind == "sound":
        record_sound(path)
    elif kind == "headless":
        make_recording(path, range(30))
        path.write_bytes(path.read_bytes()[:-1500])
    return path


CAPTURE_ERRORS = {
    "missing": "capture must exist, got",
    "folder": "capture must be a file, got the folder",
    "empty": "capture must hold a video, got the empty file",
    "text": "capture must be a whole video file, got",
    "sound": "capture must hold video, got none in",
    "headless": "capture must be a whole video file, got",
}


@pytest.mark.parametrize("kind", CAPTURE_ERRORS)
@pytest.mark.parametrize("command", ["measure", "overlay"])
def test_what_is_no_capture(run: Runner, tmp_path: Path, command: str, kind: str) -> None:
    path = make(kind, tmp_path)
    before = names(tmp_path)
    output = ["-o", str(tmp_path / "out.mp4")] if command == "overlay" else []
    outcome = run(command, path, *output)
    assert_refused(outcome, 1, CAPTURE_ERRORS[kind])
    assert str(path) in outcome.err
    assert names(tmp_path) == before


@pytest.mark.parametrize("command", ["csv", "strip"])
@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("missing", "record must be a readable file, got"),
        ("folder", "record must be a readable file, got"),
        ("empty", "record must be a whole .timing.npz file, got"),
        ("text", "record must be a whole .timing.npz file, got"),
    ],
)
def test_what_is_no_record(
    run: Runner, tmp_path: Path, command: str, kind: str, words: str
) -> None:
    path = make(kind, tmp_path)
    output = ["-o", str(tmp_path / "out.png")] if command == "strip" else ["--table", "rates"]
    outcome = run(command, path, *output)
    assert_refused(outcome, 1, words)
    assert "pickle" not in outcome.err
    assert not (tmp_path / "out.png").exists()


def test_a_record_given_as_a_capture_and_the_other_way_round(
    run: Runner, capture: Path, record: Path
) -> None:
    assert_refused(run("measure", record), 1, "capture must be a whole video file")
    assert_refused(run("csv", capture, "--table", "rates"), 1, "record must be a whole")


def test_a_record_of_another_capture(run: Runner, record: Path, tmp_path: Path) -> None:
    other = record_holds(tmp_path / "other.mp4", [1] * 10)
    outcome = run("overlay", other, "--record", record, "-o", tmp_path / "out.mp4")
    assert_refused(outcome, 1, f"record must be of the capture {other}, got one of glider.mp4")
    assert not (tmp_path / "out.mp4").exists()


@pytest.mark.parametrize("command", ["strip", "overlay"])
def test_an_unknown_style(
    run: Runner, capture: Path, record: Path, tmp_path: Path, command: str
) -> None:
    source, output = (record, "o.png") if command == "strip" else (capture, "o.mp4")
    outcome = run(command, source, "--style", "baroque", "-o", tmp_path / output)
    assert_refused(outcome, 2, "got 'baroque'")
    assert not (tmp_path / output).exists()


@pytest.mark.parametrize("option", ["--watch", "--ignore"])
@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("0.5,0,0.6,1", "region must lie inside the picture"),
        ("0,0,1", "region must be four numbers x,y,width,height"),
    ],
)
def test_a_region_outside_the_picture(
    run: Runner, capture: Path, option: str, text: str, words: str
) -> None:
    assert_refused(run("measure", capture, option, text), 2, words)
    assert names(capture.parent) == {"glider.mp4"}


@pytest.mark.parametrize("watch", [[], ["--watch", "0.2,0.2,0.3,0.3"]])
def test_ignoring_all_there_is_to_look_at(run: Runner, capture: Path, watch: list[str]) -> None:
    ignore = ["--ignore", "0.1,0.1,0.4,0.4" if watch else "0,0,1,1"]
    outcome = run("measure", capture, *watch, *ignore)
    assert_refused(outcome, 2, "ignored region must leave something to look at")
    assert names(capture.parent) == {"glider.mp4"}


SEGMENT_ERRORS = [
    (["--from", "1.5", "--to", "0:01"], "got 1.5 to 0:01; swap them"),
    (["--from", "1", "--to", "1"], "segment must start before it ends"),
    (["--from", "5"], "glider.mp4 is 0:02.000 long"),
    (["--from", "1.001", "--to", "1.002"], "segment must hold the start of a refresh"),
    (
        ["--from", "soon"],
        "time must be seconds, mm:ss.mmm, hh:mm:ss.mmm or hh:mm:ss:ff, got 'soon'",
    ),
    (["--from", "00:00:00:60"], "timecode must count 0 to 59 within a second at 60 Hz"),
    (["--from", "00:00:01;00"], "drop-frame timecode must go with 29.97 or 59.94 Hz"),
]


@pytest.mark.parametrize(("times", "words"), SEGMENT_ERRORS)
@pytest.mark.parametrize("command", ["csv", "strip", "overlay"])
def test_times_that_make_no_segment(
    run: Runner, capture: Path, record: Path, command: str, times: list[str], words: str
) -> None:
    before = names(capture.parent)
    request: dict[str, list[str | Path]] = {
        "csv": [record, "--table", "rates", "-o", capture.parent / "o.csv"],
        "strip": [record, "-o", capture.parent / "o.png"],
        "overlay": [capture, "-o", capture.parent / "o.mp4"],
    }
    assert_refused(run(command, *request[command], *times), 2, words)
    assert names(capture.parent) == before


def test_bad_times_are_found_before_the_long_work(run: Runner, capture: Path) -> None:
    outcome = run("overlay", capture, "--from", "9", "-o", capture.parent / "o.mp4")
    assert_refused(outcome, 2, "segment must start inside the capture")
    assert names(capture.parent) == {"glider.mp4"}


def outputs(command: str, capture: Path, record: Path, output: Path) -> list[str | Path]:
    requests: dict[str, list[str | Path]] = {
        "measure": ["measure", capture, "-o", output],
        "csv": ["csv", record, "--table", "rates", "-o", output],
        "strip": ["strip", record, "-o", output],
        "overlay": ["overlay", capture, "-o", output],
        "alpha": ["overlay", capture, "--alpha", "-o", output],
    }
    return requests[command]


SUFFIX = {"measure": ".npz", "csv": ".csv", "strip": ".png", "overlay": ".mp4", "alpha": ".mov"}


@pytest.mark.parametrize("command", SUFFIX)
def test_an_output_that_exists(run: Runner, capture: Path, record: Path, command: str) -> None:
    output = capture.parent / f"mine{SUFFIX[command]}"
    output.write_text("mine")
    before = names(capture.parent)
    request = outputs(command, capture, record, output)
    assert_refused(run(*request), 2, f"output must not exist yet, got {output}; pass --overwrite")
    assert output.read_text() == "mine"
    assert names(capture.parent) == before
    assert run(*request, "--overwrite").status == 0
    assert output.stat().st_size > 4
    assert names(capture.parent) == before


@pytest.mark.parametrize("command", SUFFIX)
def test_an_output_folder_that_does_not_exist(
    run: Runner, capture: Path, record: Path, command: str
) -> None:
    folder = capture.parent / "nowhere"
    request = outputs(command, capture, record, folder / f"o{SUFFIX[command]}")
    assert_refused(run(*request), 1, f"output folder must exist, got {folder}")
    assert not folder.exists()


@pytest.mark.parametrize("command", SUFFIX)
def test_a_full_disk(capture: Path, record: Path, command: str) -> None:
    """No file may pass 1000 bytes: writing fails as on a disk that is full."""
    before = names(capture.parent)
    request = outputs(command, capture, record, capture.parent / f"o{SUFFIX[command]}")
    outcome = run_apart(*request, prepare=limit_file_size)
    assert_refused(outcome, 1, "output must be writable, got")
    assert names(capture.parent) == before


@pytest.mark.parametrize("command", ["measure", "overlay", "compare", "new", "facts", "loads"])
def test_what_is_read_is_never_written_over(
    run: Runner, capture: Path, record: Path, command: str
) -> None:
    sheet = capture.parent / "edit.toml"
    sheet.write_text("output = 'made'\n", "utf-8")
    link = capture.parent / "link.mp4"
    link.symlink_to(capture)
    read = {"facts": [record], "loads": [sheet], "compare": [link, capture]}.get(command, [capture])
    before = {path: path.read_bytes() for path in read}
    outcome = run(command, *read, "-o", read[-1], "--overwrite")
    assert_refused(outcome, 2, f"output must not be what is read, got {read[-1]}; name another")
    assert {path: path.read_bytes() for path in read} == before


def limit_file_size() -> None:
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))


def test_a_full_disk_behind_standard_output(record: Path) -> None:
    with Path("/dev/full").open("wb") as full:
        outcome = run_apart("csv", record, "--table", "rates", out=full)
    assert_refused(outcome, 1, "No space left on device")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["overlay", "--codec", "vp9"], "codec must be one of"),
        (["overlay", "--codec", "prores"], "container must be one that takes prores"),
        (["overlay", "--alpha"], "output name must end in .mov for prores with alpha"),
        (["overlay", "--quality", "best"], "Invalid value for '--quality'"),
        (["overlay", "--window", "0"], "length of time must be above 0 s, got '0'"),
        (["overlay", "--target-fps", "-3"], "rate must be a positive number, got '-3'"),
        (["measure", "--refresh-hz", "fast"], "rate must be a positive number, got 'fast'"),
        (["measure", "--sideways"], "No such option '--sideways'; see pacerail measure --help"),
        (
            ["measure", "--refresh", "60"],
            "No such option '--refresh'. Did you mean '--refresh-hz'?\n",
        ),
    ],
)
def test_options_that_make_no_sense(
    run: Runner, capture: Path, arguments: list[str], words: str
) -> None:
    command, *options = arguments
    output = ["-o", str(capture.parent / "o.mp4")] if command == "overlay" else []
    assert_refused(run(command, capture, *options, *output), 2, words)
    assert names(capture.parent) == {"glider.mp4"}


@pytest.mark.parametrize("command", ["csv", "strip", "overlay", "alpha"])
def test_a_window_shorter_than_two_refreshes(
    run: Runner, capture: Path, record: Path, command: str
) -> None:
    before = names(capture.parent)
    request = outputs(command, capture, record, capture.parent / f"o{SUFFIX[command]}")
    outcome = run(*request, "--window", "1ms")
    assert_refused(outcome, 2, "rolling window must be at least 2 refreshes, got 1 ms")
    assert names(capture.parent) == before
