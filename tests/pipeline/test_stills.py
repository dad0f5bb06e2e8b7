from __future__ import annotations

from pathlib import Path

import pytest

from pacerail.errors import InputError
from pacerail.sheet.sheet import load_sheet
from tests.capture.recordings import record_holds
from tests.pipeline.edit_sheets import made_here

SHEET = """\
output = "made"

[platforms.merle]
captures = ["merle.mp4"]

[platforms.wren]
captures = ["wren.mp4"]
label = "Wren"

[stills.rope]
at = { merle = "0.2", wren = "0.3" }
regions = [[0.25, 0.25, 0.25, 0.25]]

[stills.bow]
at = "0.1"
arrange = "difference"
"""


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    for name in ("merle", "wren"):
        record_holds(tmp_path / f"{name}.mp4", [1] * 30)
    path = tmp_path / "edit.toml"
    path.write_text(SHEET, "utf-8")
    return path


def test_stills_are_made_and_kept(sheet: Path) -> None:
    first = made_here(sheet)
    assert not first.failures
    assert {job.output for job in first.made} == {"stills/rope.png", "stills/bow.png"}
    assert (sheet.parent / "made/stills/rope.png").read_bytes().startswith(b"\x89PNG")
    assert not made_here(sheet).made
    sheet.write_text(SHEET.replace('"0.1"', '"0.15"'), "utf-8")
    assert {job.output for job in made_here(sheet).made} == {"stills/bow.png"}


@pytest.mark.parametrize(
    ("there", "instead", "message"),
    [
        (', wren = "0.3"', "", "stills.rope.at must have a time for wren"),
        ("wren = ", "heron = ", "stills.rope.at.heron must name a platform"),
        ('"difference"', '"zoom"', "stills.bow.arrange must be zoom where there are regions"),
        ('arrange = "difference"', "arange = 1", "arange"),
    ],
)
def test_what_is_wrong_is_told_with_its_key(
    sheet: Path, there: str, instead: str, message: str
) -> None:
    sheet.write_text(SHEET.replace(there, instead), "utf-8")
    with pytest.raises(InputError, match=message):
        load_sheet(sheet)


def test_a_moment_outside_the_capture_is_told_with_its_key(sheet: Path) -> None:
    sheet.write_text(SHEET.replace('at = "0.1"', 'at = "9"'), "utf-8")
    with pytest.raises(InputError, match=r"stills\.bow\.at: moment must lie inside the capture"):
        made_here(sheet)
