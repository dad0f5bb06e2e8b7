"""`pacerail loads` on a sheet, and `pacerail moments` alone."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.running import Runner

SHEET = """\
output = "out"

[platforms.merle]
captures = ["glider.mp4"]

[loads.post]
[[loads.post.takes]]
platform = "merle"
start = "0.5"
end = "1.25"
"""


@pytest.fixture
def sheet(record: Path) -> Path:
    path = record.with_name("sheet.toml")
    path.write_text(SHEET, "utf-8")
    return path


def test_a_take_is_timed_to_the_refresh(run: Runner, sheet: Path) -> None:
    result = run("loads", str(sheet), "--format", "json")
    assert result.status == 0, result.err
    (load,) = json.loads(result.out)
    (take,) = load["takes"]
    assert (take["refreshes"], take["length_s"]) == (45, 0.75)
    assert take["end_error_s"] == pytest.approx(1 / 60)
    assert load["ratio"] is None


def test_every_format_names_the_load(run: Runner, sheet: Path) -> None:
    for name in ("text", "markdown", "csv"):
        result = run("loads", str(sheet), "--format", name)
        assert result.status == 0, result.err
        assert "post" in result.out
        assert "0.75" in result.out


def test_a_kind_that_does_not_happen_is_an_error_with_its_line(run: Runner, sheet: Path) -> None:
    text = SHEET.replace('start = "0.5"', 'start = { kind = "fade_end", near = "0.5" }')
    sheet.write_text(text, "utf-8")
    result = run("loads", str(sheet))
    assert result.status == 1
    assert "loads.post.takes[1]" in result.err
    assert "fade_end must lie within 5 s" in result.err


def test_an_unknown_platform_is_an_error(run: Runner, sheet: Path) -> None:
    sheet.write_text(SHEET.replace('platform = "merle"', 'platform = "wren"'), "utf-8")
    result = run("loads", str(sheet))
    assert result.status == 1
    assert "must name a platform (merle)" in result.err


def test_a_race_is_written_for_a_load_of_two_platforms(
    run: Runner, sheet: Path, tmp_path: Path
) -> None:
    text = SHEET.replace(
        "[loads.post]\n", '[platforms.wren]\ncaptures = ["glider.mp4"]\n[canvas]\n'
    )
    text = text.replace("[canvas]\n", '[canvas]\nsize = "640x360"\n[loads.post]\n')
    take = text[text.index("[[loads.post.takes]]") :]
    text += take.replace("merle", "wren").replace("1.25", "1.5")
    sheet.write_text(text, "utf-8")
    result = run("loads", str(sheet), "--races", str(tmp_path))
    assert result.status == 0, result.err
    assert (tmp_path / "post-race.mp4").stat().st_size > 1000
    assert "0.750 times as long as wren" in result.out


def test_that_there_are_no_moments_is_told_beside_the_list(run: Runner, capture: Path) -> None:
    result = run("moments", capture, "--from", "1.5")
    assert (result.status, result.out) == (0, "")
    assert result.err == "Note: no moments were found there\n"


def test_moments_are_a_list_with_time_refresh_and_kind(
    run: Runner, record: Path, capture: Path, tmp_path: Path
) -> None:
    picture = tmp_path / "contacts.png"
    result = run("moments", str(capture), "--format", "json", "-o", str(picture))
    assert result.status == 0, result.err
    listed = json.loads(result.out)
    assert all(list(each)[:3] == ["time_s", "refresh", "kind"] for each in listed)
    assert picture.read_bytes().startswith(b"\x89PNG")
