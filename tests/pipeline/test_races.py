from __future__ import annotations

from pathlib import Path

import pytest

from pacerail.capture.open import open_capture
from pacerail.capture.reader import pictures
from pacerail.errors import InputError
from pacerail.pipeline.race import HOLD_S
from pacerail.sheet.sheet import load_sheet
from tests.capture.recordings import record_holds
from tests.pipeline.edit_sheets import made_here

SHEET = """\
output = "made"

[canvas]
size = "640x360"

[platforms.merle]
captures = ["merle.mp4"]

[platforms.wren]
captures = ["wren.mp4"]

[loads.post]
takes = [
    { platform = "wren", start = "0.1", end = "0.4" },
    { platform = "merle", start = "0.1", end = "0.3" },
]
[loads.post.race]
layout = "stacked"

[loads.rope]
takes = [{ platform = "merle", start = "0.1", end = "0.3" }]
"""


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    for name in ("merle", "wren"):
        record_holds(tmp_path / f"{name}.mp4", [1] * 30, size=(320, 180))
    path = tmp_path / "edit.toml"
    path.write_text(SHEET, "utf-8")
    return path


def test_a_race_is_made_and_kept(sheet: Path) -> None:
    first = made_here(sheet)
    assert not first.failures
    clip = sheet.parent / "made/loads/post-race.mp4"
    assert "loads/post-race.mp4" in {job.output for job in first.made}
    with open_capture(clip) as capture:
        # The longer load, 18 refreshes, and the time in which the result stands.
        assert sum(1 for _ in pictures(capture)) == 18 + HOLD_S * 60
        assert (capture.video.width, capture.video.height) == (640, 360)
    assert not made_here(sheet).made
    sheet.write_text(SHEET.replace('"0.4"', '"0.35"'), "utf-8")
    assert {job.output for job in made_here(sheet).made} == {"loads/post-race.mp4"}


def test_a_draft_lies_apart(sheet: Path) -> None:
    assert "draft/loads/post-race.mp4" in {job.output for job in made_here(sheet, draft=True).made}


@pytest.mark.parametrize(
    ("there", "instead", "message"),
    [
        ('"stacked"', '"split"', r"loads\.post\.race\.layout must be"),
        ('platform = "wren"', 'platform = "merle"', r"race must have takes of two platforms"),
    ],
)
def test_what_is_wrong_is_told_with_its_key(
    sheet: Path, there: str, instead: str, message: str
) -> None:
    sheet.write_text(SHEET.replace(there, instead), "utf-8")
    with pytest.raises(InputError, match=message):
        load_sheet(sheet)


def test_a_time_outside_the_capture_is_told_before_anything_is_made(sheet: Path) -> None:
    sheet.write_text(SHEET.replace('"0.4"', '"9"'), "utf-8")
    with pytest.raises(InputError, match=r"loads\.post\.takes\[1\].*inside the capture"):
        made_here(sheet)
