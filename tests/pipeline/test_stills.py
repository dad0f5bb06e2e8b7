from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

from demo.encode import LOSSLESS, Encoding, write_pictures
from demo.simulator import CapturedPicture
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
    assert {job.output for job in first.made if not job.output.startswith("records/")} == {
        "stills/rope.png",
        "stills/bow.png",
    }
    assert (sheet.parent / "made/stills/rope.png").read_bytes().startswith(b"\x89PNG")
    assert not made_here(sheet).made
    sheet.write_text(SHEET.replace('"0.1"', '"0.15"'), "utf-8")
    assert {job.output for job in made_here(sheet).made} == {"stills/bow.png"}


MORE = """[stills.flag]
at = "0.2"
push = { region = [0.5, 0.5, 0.25, 0.25], platforms = ["wren"], length = 0.2 }
alternate = { interval = 0.25, length = 0.5 }
"""


def test_a_still_is_also_pushed_into_and_shown_in_turn(sheet: Path) -> None:
    sheet.write_text(SHEET + MORE, "utf-8")
    outcome = made_here(sheet)
    assert not outcome.failures
    made = {job.output for job in outcome.made if "flag" in job.output}
    assert made == {"stills/flag.png", "stills/flag.wren.push.mp4", "stills/flag.alternate.mp4"}
    lengths = {}
    for name in made - {"stills/flag.png"}:
        with av.open(str(sheet.parent / "made" / name)) as clip:
            lengths[name] = sum(1 for _ in clip.decode(video=0))
    assert lengths == {"stills/flag.wren.push.mp4": 12, "stills/flag.alternate.mp4": 30}


def test_stair_steps_are_counted_along_the_edge_of_a_platform(sheet: Path) -> None:
    """Diagonal stripes drawn without smoothing: every row of theirs is one of the picture."""
    slope = np.add.outer(np.arange(96), np.arange(128) // 8)
    luma = np.where(slope > 60, 200, 40).astype(np.uint8)
    source = (CapturedPicture(r, np.dstack([luma] * 3)) for r in range(30))
    lossless = Encoding("libx264", options=LOSSLESS["libx264"], audio=False)
    write_pictures(sheet.parent / "wren.mp4", source, Fraction(60), 30, lossless, overwrite=True)
    more = MORE[: MORE.index("push")] + "steps = { wren = [8, 59, 119, 46] }\n"
    sheet.write_text(SHEET + more, "utf-8")
    outcome = made_here(sheet)
    assert not outcome.failures
    folder = sheet.parent / "made/stills"
    assert (folder / "flag.wren.steps.png").read_bytes().startswith(b"\x89PNG")
    told = json.loads((folder / "flag.wren.steps.json").read_text("utf-8"))
    assert (told["counts"], told["shown_height"]) == ("rows", 96)
    assert told["least"] <= 96 <= told["most"]


@pytest.mark.parametrize(
    ("there", "instead", "message"),
    [
        ("0.25, length", "0.1, length", r"alternate.interval: interval must keep the alternation"),
        ('["wren"]', '["heron"]', r"flag.push.platforms\[1\] must name a platform"),
        ("region", "regions", "stills.flag.push.region"),
        ("alternate", "steps = { heron = [1, 2, 3, 4] }\nalternate", "flag.steps.heron must name"),
        ("alternate", "steps = { wren = [1, 2, 3] }\nalternate", "flag.steps.wren must be both"),
    ],
)
def test_what_is_wrong_with_more_of_a_still_is_told_with_its_key(
    sheet: Path, there: str, instead: str, message: str
) -> None:
    sheet.write_text(SHEET + MORE.replace(there, instead, 1), "utf-8")
    with pytest.raises(InputError, match=message):
        load_sheet(sheet)


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
