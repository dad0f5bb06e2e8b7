"""`pacerail race`: two loads in one clip."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np
import pytest

from tests.cli.running import Runner, names

TIMES = ("--start-a", "0.2", "--end-a", "0.5", "--start-b", "0.1", "--end-b", "0.9")


def test_the_clip_lasts_as_long_as_the_slower_load_and_holds_the_result(
    run: Runner, record: Path, capture: Path, tmp_path: Path
) -> None:
    output = tmp_path / "race.mp4"
    result = run("race", str(capture), str(capture), *TIMES, "--size", "640x360", "-o", str(output))
    assert result.status == 0, result.err
    with av.open(str(output)) as container:
        frames = [frame.to_ndarray(format="gray") for frame in container.decode(video=0)]
    assert len(frames) == round((0.8 + 2) * 60)
    assert np.abs(frames[60].astype(int) - frames[-1]).max() < 24
    left = slice(60, 150), slice(40, 300)
    assert np.abs(frames[25][left].astype(int) - frames[-1][left]).mean() < 2  # it stands
    right = slice(60, 150), slice(340, 600)
    assert np.abs(frames[25][right].astype(int) - frames[-1][right]).mean() > 5  # it runs


@pytest.mark.parametrize("style", ["mast", "wake"])
def test_a_race_is_drawn_in_other_styles_and_stacked(
    run: Runner, record: Path, capture: Path, tmp_path: Path, style: str
) -> None:
    output = tmp_path / "race.mp4"
    options = ("--style", style, "--layout", "stacked", "--quality", "draft", "--decimals", "2")
    result = run("race", str(capture), str(capture), *TIMES, *options, "-o", str(output))
    assert result.status == 0, result.err


def test_a_load_that_ends_before_it_starts_is_an_error(
    run: Runner, capture: Path, tmp_path: Path
) -> None:
    before = names(tmp_path)
    times = ("--start-a", "0.5", "--end-a", "0.2", "--start-b", "0", "--end-b", "1")
    output = tmp_path / "race.mp4"
    result = run("race", str(capture), str(capture), *times, "-o", str(output))
    assert result.status == 2
    assert "load must start before it ends" in result.err
    assert names(tmp_path) == before, "nothing is measured for it"
