from __future__ import annotations

from pathlib import Path

import av
import numpy as np

from tests.capture.recordings import record as make_recording
from tests.cli.running import Runner, names


def rgb(path: Path, number: int = 0) -> np.ndarray:
    with av.open(str(path)) as container:
        for index, frame in enumerate(container.decode(video=0)):
            if index == number:
                return frame.to_ndarray(format="rgb24").astype(int)
    raise AssertionError(f"{path} has no picture {number}")


def test_it_is_the_picture_at_that_moment_with_the_overlay(
    run: Runner, capture: Path, record: Path
) -> None:
    output = capture.parent / "frame.png"
    outcome = run("frame", capture, "--at", "1.505", "-o", output)
    assert (outcome.status, outcome.out, outcome.err) == (0, "", "")
    rows = np.arange(8)
    # The overlay leaves the top of the picture alone; frames differ there by the pattern.
    distance = [np.abs(rgb(output)[rows] - rgb(capture, n)[rows]).mean() for n in (88, 90, 92)]
    assert distance[1] < 2 < min(distance[0], distance[2])
    assert np.abs(rgb(output) - rgb(capture, 90)).max() > 60


def test_moments_outside_are_refused(run: Runner, capture: Path, record: Path) -> None:
    before = names(capture.parent)
    output = capture.parent / "frame.png"
    outcome = run("frame", capture, "--at", "2", "-o", output)
    assert outcome.status == 2
    assert outcome.err == (
        "Error: moment must lie inside the capture, got 2; glider.mp4 is 0:02.000 long\n"
    )
    assert run("frame", capture, "--at", "late", "-o", output).status == 2
    assert names(capture.parent) == before


def test_pictures_without_time_stamps_cannot_be_drawn_on(run: Runner, tmp_path: Path) -> None:
    capture = make_recording(tmp_path / "a.h264", range(20))
    for command, *options in (("frame", "--at", "0.1"), ("overlay",)):
        outcome = run(command, capture, *options, "-o", tmp_path / "o.mp4")
        assert outcome.status == 1
        assert "Error: footage must have time stamps to draw on" in outcome.err
        assert names(tmp_path) == {"a.h264", "a.timing.npz"}
