from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import av
import numpy as np

from pacerail.pipeline.building import build
from pacerail.pipeline.sheets import prepare
from pacerail.pipeline.workers import InProcess, Workers
from tests.pipeline.edit_sheets import write_edit

SEGMENT = """
[segments.dusk]
in = "0.1"
out = { merle = "0.5", wren = "0.3" }

[[segments.dusk.outputs]]
kind = "layout"
layout = "stacked"
quality = "lossless"
"""


def test_the_platform_that_ends_first_stands_still_until_the_other_has_ended(
    tmp_path: Path,
) -> None:
    sheet = write_edit(tmp_path)
    sheet.write_text(sheet.read_text("utf-8") + SEGMENT, "utf-8")
    assert not build(prepare(sheet, ["dusk"]).plan, Workers(InProcess())).failures
    with av.open(str(tmp_path / "made" / "dusk" / "stacked.mp4")) as clip:
        luma = [frame.to_ndarray(format="gray").astype(float) for frame in clip.decode(video=0)]
    assert len(luma) == 24
    upper, lower = (
        [np.abs(after[rows] - before[rows]).max() for before, after in pairwise(luma)]
        for rows in (slice(0, 120), slice(120, 240))
    )
    assert min(upper) > 0
    # Wren's last refresh is the twelfth; then its picture is dimmed, once.
    assert max(lower[12:]) == 0
    assert lower[11] > 0
