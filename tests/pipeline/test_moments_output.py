"""Moments as an output of a segment."""

from __future__ import annotations

import json
from pathlib import Path

from tests.capture.recordings import record
from tests.pipeline.edit_sheets import made_here

SHEET = """\
output = "made"

[platforms.merle]
captures = ["merle.mp4"]

[segments.wait]
in = "0.2"
length = 1.5

[[segments.wait.outputs]]
kind = "moments"
"""


def test_moments_of_a_segment_are_drawn_and_listed(tmp_path: Path) -> None:
    """A still span from 0.5 s to 1.25 s, and another before the segment."""
    holds = [12] + [1] * 18 + [45] + [1] * 45
    frames = [frame for frame, hold in enumerate(holds) for _ in range(hold)]
    record(tmp_path / "merle.mp4", range(len(frames)), frames=frames)
    sheet = tmp_path / "edit.toml"
    sheet.write_text(SHEET, "utf-8")

    outcome = made_here(sheet)

    assert not outcome.failures
    told = json.loads((tmp_path / "made/wait/merle.moments.json").read_text("utf-8"))
    still = [(each["kind"], each["refresh"]) for each in told if each["kind"][:5] == "still"]
    assert still == [("still_start", 30), ("still_end", 75)]
    drawn = (tmp_path / "made/wait/merle.moments.png").read_bytes()
    assert drawn.startswith(b"\x89PNG")
