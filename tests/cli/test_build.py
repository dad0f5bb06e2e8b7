from __future__ import annotations

import copy
import re
import shutil
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from pacerail.sheet.sheet import load_sheet
from tests.cli.running import Runner, names
from tests.sheet.sheet_texts import toml_text

SHEET = """\
output = "made"

[platforms.glider]
captures = ["glider.mp4"]

[segments.dash]
in = "0.5"
length = "1.0"

[[segments.dash.outputs]]
kind = "csv"
tables = ["frames"]

[[segments.dash.outputs]]
kind = "markers"
"""


@pytest.fixture
def sheet(capture: Path, record: Path) -> Path:
    """Beside a capture that has its record."""
    path = capture.parent / "edit.toml"
    path.write_text(SHEET, "utf-8")
    return path


def test_check_says_what_would_be_made_and_writes_nothing(run: Runner, sheet: Path) -> None:
    before = names(sheet.parent)
    outcome = run("build", sheet, "--check")
    assert (outcome.status, outcome.err) == (0, "")
    lines = outcome.out.splitlines()
    record = re.match(r"to make   0:02\.000  (records/glider-\w{12}\.timing\.npz)  rec", lines[0])
    assert record
    assert lines[1:] == [
        f"to make   0:01.000  {output:{len(record[1])}}  {about}"
        for output, about in [
            ("dash/glider.frames.csv", "table of frames"),
            ("dash/glider.markers.vtt", "markers"),
        ]
    ]
    assert names(sheet.parent) == before


def test_a_build_says_what_it_made_and_what_was_there(run: Runner, sheet: Path) -> None:
    made = sheet.parent / "made"
    outcome = run("build", sheet, "--jobs", "1")
    assert (outcome.status, outcome.err) == (0, "")
    assert outcome.out.splitlines()[1:] == [
        str(made / "dash" / "glider.frames.csv"),
        str(made / "dash" / "glider.markers.vtt"),
        "3 made, 0 there already",
    ]
    assert run("build", sheet, "--jobs", "1").out == "0 made, 3 there already\n"
    listed = run("build", sheet, "--check").out.splitlines()
    assert all(line.startswith("there ") for line in listed)


def test_a_sheet_without_outputs_has_nothing_to_make(run: Runner, sheet: Path) -> None:
    text = sheet.read_text("utf-8")
    sheet.write_text(text[: text.index("[segments")], "utf-8")
    outcome = run("build", sheet, "--check")
    assert outcome.out == "nothing to make: the sheet asks for no outputs\n"


def test_a_segment_and_a_folder_can_be_named(run: Runner, sheet: Path, tmp_path: Path) -> None:
    outcome = run("build", sheet, "dash", "--jobs", "1", "-o", tmp_path / "elsewhere")
    assert outcome.status == 0
    assert names(tmp_path / "elsewhere") == {".build", "dash", "records"}
    assert not (sheet.parent / "made").exists()


def test_the_record_beside_the_capture_is_used(run: Runner, sheet: Path, record: Path) -> None:
    run("build", sheet, "--jobs", "1")
    (kept,) = (sheet.parent / "made" / "records").iterdir()
    assert kept.read_bytes() == record.read_bytes()


def test_what_the_sheet_has_no_more_is_told(run: Runner, sheet: Path) -> None:
    run("build", sheet, "--jobs", "1")
    sheet.write_text(SHEET[: SHEET.rindex("[[")], "utf-8")
    outcome = run("build", sheet, "--jobs", "1")
    left = sheet.parent / "made" / "dash" / "glider.markers.vtt"
    assert outcome.err == f"Note: {left} is not in the sheet any more; it is left as it is\n"
    assert left.exists()


@pytest.mark.parametrize(
    ("arguments", "status", "message"),
    [
        (("dusk",), 2, "segment must be one of dash, got dusk; name one that the sheet has"),
        (("--jobs", "2", "--scheduler", "x"), 2, "--jobs must not go with --scheduler, got both"),
        (("--scheduler", "nonsense://x"), 2, "scheduler must answer, got nonsense://x"),
        (("-o", "edit.toml"), 1, "output must be a folder, got the file edit.toml; name another"),
    ],
)
def test_a_request_that_cannot_be_met_is_refused(
    run: Runner,
    sheet: Path,
    monkeypatch: pytest.MonkeyPatch,
    arguments: tuple[str, ...],
    status: int,
    message: str,
) -> None:
    monkeypatch.chdir(sheet.parent)
    outcome = run("build", sheet, *arguments)
    assert outcome.status == status
    assert message in outcome.err
    assert outcome.err.count("\n") == 1


TABLE = tomllib.loads(SHEET)
PLACES = [
    ("output",),
    ("platforms",),
    ("platforms", "glider", "captures"),
    ("segments", "dash"),
    ("segments", "dash", "in"),
    ("segments", "dash", "length"),
    ("segments", "dash", "outputs", 0, "kind"),
    ("segments", "dash", "outputs", 0, "tables", 0),
    ("segments", "dash", "outputs", 1),
]
NONSENSE: list[Any] = [-1, float("inf"), False, "", "?", "a\nb", ["?"], {}, {"x": 1}, "missing.mp4"]


@settings(max_examples=50, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.sampled_from(PLACES), st.sampled_from(NONSENSE), st.booleans())
def test_a_malformed_sheet_is_one_clear_error_and_nothing_is_written(
    run: Runner, sheet: Path, place: tuple[str | int, ...], value: Any, is_renamed: bool
) -> None:
    table = copy.deepcopy(TABLE)
    inside: Any = table
    for key in place[:-1]:
        inside = inside[key]
    if is_renamed:
        assume(isinstance(place[-1], str) and place != ("segments", "dash"))
        inside["astray"] = inside.pop(place[-1])
    else:
        inside[place[-1]] = value
    assume(
        is_renamed
        or place != ("output",)
        or not str(value).strip().isprintable()
        or value in ("", -1)
    )
    sheet.write_text(toml_text(table), "utf-8")
    before = names(sheet.parent)
    outcome = run("build", sheet)
    assert outcome.status == 1
    assert outcome.out == ""
    assert outcome.err.startswith("Error: edit.toml, line ")
    assert outcome.err.count("\n") == 1
    key = "astray" if is_renamed else next(k for k in reversed(place) if isinstance(k, str))
    assert key in outcome.err or (is_renamed and str(place[-1]) in outcome.err)
    assert names(sheet.parent) == before


def test_a_new_sheet_is_a_good_one(run: Runner, capture: Path, tmp_path: Path) -> None:
    other = Path(shutil.copy(capture, tmp_path / 'Kite "No. 2".mp4'))
    (tmp_path / "edits").mkdir()
    path = tmp_path / "edits" / "new.toml"
    outcome = run("new", capture, other, "-o", path)
    assert (outcome.status, outcome.out, outcome.err) == (0, "", "")
    sheet = load_sheet(path)
    assert [sheet.label_of(name) for name in sheet.platforms] == ["glider", 'Kite "No. 2"']
    listed = run("build", path, "--check")
    assert listed.status == 0
    assert "opening/abreast.mp4" in listed.out
    assert run("new", capture, "-o", path).status == 2
    assert run("new", capture, "-o", path, "--overwrite").status == 0
    assert list(load_sheet(path).platforms) == ["glider"]


@pytest.mark.parametrize(
    ("captures", "output", "message"),
    [
        (3, "new.toml", "new must be given one or two captures, one for each platform, got 3"),
        (1, "new.txt", "sheet must be named .toml, got new.txt"),
    ],
)
def test_a_sheet_that_cannot_be_started_is_refused(
    run: Runner, capture: Path, tmp_path: Path, captures: int, output: str, message: str
) -> None:
    outcome = run("new", *[capture] * captures, "-o", tmp_path / output)
    assert outcome.status == 2
    assert message in outcome.err
    assert not (tmp_path / output).exists()
