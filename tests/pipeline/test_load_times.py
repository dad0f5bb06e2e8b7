"""Load times of simulated captures, noisy and lossy, against the truth of the simulator."""

from __future__ import annotations

from fractions import Fraction
from math import ceil
from pathlib import Path

import pytest

from demo import pacing
from demo.encode import Encoding, write_capture
from demo.scene import STORYBOARD, scene_source
from demo.simulator import Display, Simulation
from pacerail.pipeline.loads import measure_loads

# The part of the storyboard around its loading screen.
FIRST_S, END_S = Fraction("10.0"), Fraction("12.4")

SHEET = """\
output = "made"

[platforms.merle]
captures = ["a.mp4"]

[loads.fog]
[[loads.fog.takes]]
platform = "merle"
start = { kind = "cut", near = "0.3" }
end = { kind = "cut", near = "1.7" }
"""


@pytest.mark.parametrize(("fps", "sync"), [(60, True), (30, True), (37, False)])
def test_a_load_is_right_within_one_refresh_an_end(tmp_path: Path, fps: int, sync: bool) -> None:
    """Noise of sigma 1, crf 23."""
    scene = scene_source(320, 180)
    simulation = Simulation(
        lambda program_s: scene(FIRST_S + program_s),
        pacing.steady(fps, END_S - FIRST_S, Fraction(0 if sync else -1, 500)),
        Display(Fraction(60), sync),
        refreshes=ceil((END_S - FIRST_S) * 60),
    )
    encoding = Encoding(options={"crf": "23", "preset": "veryfast"}, noise_sigma=1.0, audio=False)
    truth = write_capture(tmp_path / "a.mp4", simulation, encoding)
    sheet = tmp_path / "sheet.toml"
    sheet.write_text(SHEET, "utf-8")
    loading = next(cue for cue in STORYBOARD if cue.name == "loading")
    first, end = (
        next(flip.refresh for flip in truth.flips if flip.time_s >= moment_s - FIRST_S)
        for moment_s in (loading.start_s, loading.end_s)
    )

    (take,) = measure_loads(sheet).takes["fog"]

    assert abs(take.first_refresh - first) <= 1
    assert abs(take.end_refresh - end) <= 1


def test_a_stall_in_a_load_is_its_longest_frame_however_long(tmp_path: Path) -> None:
    """Elsewhere a picture that stands for 0.8 s would be a still span, and no frame."""
    scene = scene_source(320, 180)
    simulation = Simulation(
        lambda program_s: scene(FIRST_S + program_s),
        pacing.stalled(pacing.steady(30, 2), [(Fraction("0.2"), Fraction("0.8"))]),
        Display(Fraction(60), sync=True),
        refreshes=120,
    )
    write_capture(tmp_path / "a.mp4", simulation, Encoding(audio=False))
    sheet = tmp_path / "sheet.toml"
    text = SHEET.replace('{ kind = "cut", near = "0.3" }', '"0.1"')
    sheet.write_text(text.replace('{ kind = "cut", near = "1.7" }', '"1.5"'), "utf-8")

    (take,) = measure_loads(sheet).takes["fog"]

    assert take.longest_frame_ms == pytest.approx(800, abs=1)
