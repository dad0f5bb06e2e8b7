from __future__ import annotations

from pathlib import Path

from tests.cli.running import Runner


def test_every_style_is_listed_with_what_it_is(run: Runner) -> None:
    outcome = run("styles")
    assert (outcome.status, outcome.err) == (0, "")
    lines = outcome.out.splitlines()
    assert len(lines) >= 4
    assert lines == sorted(lines)
    assert all(len(line.split("  ", 1)[1].strip()) > 10 for line in lines)


def test_named_styles_and_files_are_drawn_on_a_specimen_sheet(run: Runner, tmp_path: Path) -> None:
    own = tmp_path / "mine.toml"
    own.write_text('extends = "wake"\nsummary = "Mine."\n')
    sheet = tmp_path / "sheet.png"
    outcome = run("styles", "quay", own, "-o", sheet)
    assert (outcome.status, outcome.err) == (0, "")
    assert [line.split()[0] for line in outcome.out.splitlines()] == ["quay", "mine"]
    assert sheet.read_bytes().startswith(b"\x89PNG")
    again = run("styles", "-o", sheet)
    assert again.status == 2
    assert "pass --overwrite to replace it" in again.err


def test_an_unknown_style_is_refused(run: Runner) -> None:
    outcome = run("styles", "quai")
    assert (outcome.status, outcome.out) == (2, "")
    assert outcome.err == (
        "Error: style must be one of buoy, chart, mast, quay, wake or the path of a .toml file, "
        "got 'quai'; pick one of them\n"
    )
