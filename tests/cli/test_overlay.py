from __future__ import annotations

import json
from pathlib import Path

import av
import numpy as np
import pytest

from pacerail.record import load_record
from tests.capture.recordings import record_holds
from tests.cli.running import Runner, names


def decoded(path: Path) -> list[av.VideoFrame]:
    with av.open(str(path)) as container:
        return list(container.decode(video=0))


def alpha_of(path: Path) -> np.ndarray:
    return np.array([frame.to_ndarray(format="rgba")[..., 3] for frame in decoded(path)])


def test_a_whole_capture_keeps_its_pictures_and_times(run: Runner, capture: Path) -> None:
    output = capture.parent / "out.mp4"
    outcome = run("overlay", capture, "--quality", "lossless", "-o", output)
    assert (outcome.status, outcome.out, outcome.err) == (0, "", "")
    before, after = decoded(capture), decoded(output)
    assert [frame.time for frame in after] == [frame.time for frame in before]
    luma = [frame.to_ndarray()[: frame.height] for frame in (before[60], after[60])]
    changed = (luma[0] != luma[1]).any(axis=1)
    assert changed.any()
    assert not changed.all()


def test_it_measures_when_there_is_no_record_and_reuses_the_one_it_leaves(
    run: Runner, capture: Path
) -> None:
    assert run("overlay", capture, "-o", capture.parent / "1.mp4").status == 0
    record = capture.with_suffix(".timing.npz")
    written = record.stat().st_mtime_ns
    assert run("overlay", capture, "-o", capture.parent / "2.mp4").status == 0
    assert record.stat().st_mtime_ns == written
    assert names(capture.parent) == {"glider.mp4", "glider.timing.npz", "1.mp4", "2.mp4"}


def test_a_capture_that_changed_is_measured_again(run: Runner, capture: Path, record: Path) -> None:
    record_holds(capture, [1] * 30)
    outcome = run("overlay", capture, "-o", capture.parent / "o.mp4")
    assert outcome.status == 0
    assert outcome.err == (
        "Note: glider.timing.npz is of another capture or an older one; measuring again\n"
    )
    assert load_record(record).refreshes == 30


def test_the_record_of_another_capture_beside_it_is_left_alone(
    run: Runner, capture: Path, record: Path
) -> None:
    before = record.read_bytes()
    twin = record_holds(capture.parent / "glider.mkv", [1] * 30)
    outcome = run("overlay", twin, "-o", capture.parent / "o.mp4")
    assert outcome.status == 0
    assert "Note: the new record is not kept: glider.timing.npz is another capture's" in outcome.err
    assert record.read_bytes() == before


def test_a_record_may_be_named(run: Runner, capture: Path, record: Path, tmp_path: Path) -> None:
    moved = record.rename(tmp_path / "elsewhere.npz")
    outcome = run("overlay", capture, "--record", moved, "-o", tmp_path / "o.mp4")
    assert outcome.status == 0
    assert not record.exists()


def test_a_folder_that_takes_no_record_is_no_obstacle(
    run: Runner, capture: Path, tmp_path: Path
) -> None:
    """Nobody, root included, can make a file beside an entry of /proc/self/fd."""
    with capture.open("rb") as stream:
        read_only = Path(f"/proc/self/fd/{stream.fileno()}")
        outcome = run("overlay", read_only, "-o", tmp_path / "o.mp4")
    assert outcome.status == 0
    assert "Note: the new record is not kept: output must be writable" in outcome.err
    assert len(decoded(tmp_path / "o.mp4")) == 120


def test_a_segment_has_exactly_its_refreshes(run: Runner, capture: Path, record: Path) -> None:
    output = capture.parent / "o.mp4"
    assert run("overlay", capture, "--from", "0.5", "--to", "1.25", "-o", output).status == 0
    assert len(decoded(output)) == 45


def test_the_overlay_alone_has_alpha_and_a_picture_for_every_refresh(
    run: Runner, capture: Path, record: Path
) -> None:
    output = capture.parent / "o.mov"
    options = ["--alpha", "--codec", "animation", "--from", "0.5", "--to", "1.5"]
    assert run("overlay", capture, *options, "-o", output).status == 0
    alpha = alpha_of(output)
    assert len(alpha) == 60
    assert alpha.min() == 0
    assert alpha.max() > 150


def test_another_rate_shows_the_latest_refresh(run: Runner, capture: Path, record: Path) -> None:
    output = capture.parent / "o.mp4"
    assert run("overlay", capture, "--rate", "30", "-o", output).status == 0
    frames = decoded(output)
    assert len(frames) == 60
    assert [round((frame.time or 0) * 30) for frame in frames] == list(range(60))


def test_a_cropped_clip_says_where_it_lies(run: Runner, capture: Path, record: Path) -> None:
    whole, cropped = capture.parent / "whole.mov", capture.parent / "cropped.mov"
    options = ["--alpha", "--codec", "png", "--from", "1", "--to", "1.1"]
    assert run("overlay", capture, *options, "-o", whole).status == 0
    assert run("overlay", capture, *options, "--crop", "-o", cropped).status == 0
    placement = json.loads((capture.parent / "cropped.placement.json").read_text())
    assert (placement["canvas_width"], placement["canvas_height"]) == (128, 96)
    x, y, width, height = (placement[key] for key in ("x", "y", "width", "height"))
    alpha = alpha_of(whole)
    np.testing.assert_array_equal(alpha[:, y : y + height, x : x + width], alpha_of(cropped))
    alpha[:, y : y + height, x : x + width] = 0
    assert not alpha.any()


def test_a_folder_of_pictures(run: Runner, capture: Path, record: Path) -> None:
    folder = capture.parent / "pictures"
    options = ["--alpha", "--codec", "pictures", "--from", "1", "--to", "1.1"]
    assert run("overlay", capture, *options, "-o", folder).status == 0
    assert sorted(names(folder)) == [f"{number:06}.png" for number in range(6)]
    outcome = run("overlay", capture, *options, "--overwrite", "-o", folder)
    assert outcome.status == 2
    assert "Error: folder of pictures must not exist yet" in outcome.err


def test_the_start_timecode_moves_with_the_segment(run: Runner, tmp_path: Path) -> None:
    capture = record_holds(tmp_path / "a.mp4", [1] * 120, timecode="10:00:00:00")
    for output, options in (("o.mp4", []), ("o.mov", ["--alpha"])):
        assert run("overlay", capture, "--from", "1", *options, "-o", tmp_path / output).status == 0
        with av.open(str(tmp_path / output)) as container:
            assert container.streams.video[0].metadata["timecode"] == "10:00:01:00"


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--crop"], "--crop must go with --alpha"),
        (["--premultiplied"], "--premultiplied must go with --alpha"),
        (["--alpha", "--quality", "high"], "--quality must go with footage"),
        (
            ["--alpha", "--codec", "pictures", "--premultiplied"],
            "must go with a clip, got pictures",
        ),
    ],
)
def test_options_that_do_not_go_together(
    run: Runner, capture: Path, record: Path, options: list[str], words: str
) -> None:
    outcome = run("overlay", capture, *options, "-o", capture.parent / "o.mp4")
    assert outcome.status == 2
    assert outcome.err.startswith("Error: ")
    assert words in outcome.err
