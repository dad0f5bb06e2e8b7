from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

from demo.encode import Encoding, write_pictures
from demo.pacing import drifting, steady
from demo.simulator import Display, Rgb, Simulation
from tests.cli.running import Runner, names

# Half a refresh at 60 Hz.
NEAR_S = 1 / 120
OFFSET_S = 0.65


def blobs(seed: int, width: int, height: int) -> Callable[[Fraction], Rgb]:
    """Soft lights on paths of their own, drawn at any size."""
    rng = np.random.default_rng(seed)
    speed, phase = rng.uniform(0.8, 2.5, (2, 9)), rng.uniform(0, 6.3, (2, 9))
    y, x = (np.mgrid[:height, :width] + 0.5) / np.array([height, width])[:, None, None]

    def draw(content_s: Fraction) -> Rgb:
        down, right = 0.5 + 0.4 * np.sin(speed * float(content_s) + phase)
        distance = (y[..., None] - down) ** 2 + (x[..., None] - right) ** 2
        light = np.exp(-distance * 60).sum(axis=-1)
        grey = np.clip(40 + 150 * light, 0, 255).astype(np.uint8)
        return np.dstack([grey, grey, grey])

    return draw


def record_blobs(
    path: Path, seed: int, start_s: Fraction, size: tuple[int, int], *, sync: bool
) -> Path:
    flips = steady(60, 4) if sync else drifting(30, 40, 4)
    simulation = Simulation(
        blobs(seed, *size),
        flips,
        Display(Fraction(60), sync),
        refreshes=240,
        program_s=[start_s + flip for flip in flips],
    )
    encoding = Encoding(options={"crf": "22", "preset": "ultrafast"}, audio=False)
    write_pictures(path, simulation.pictures(), Fraction(60), 240, encoding)
    return path


@pytest.fixture(scope="session")
def takes(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two takes of the same content, 0.65 s apart, and one of other content."""
    folder = tmp_path_factory.mktemp("takes")
    record_blobs(folder / "merle.mp4", 1, Fraction(0), (160, 90), sync=True)
    record_blobs(folder / "wren.mp4", 1, Fraction(13, 20), (256, 144), sync=False)
    record_blobs(folder / "other.mp4", 2, Fraction(0), (160, 90), sync=True)
    return folder


def test_json_is_one_object_with_the_offset(run: Runner, takes: Path) -> None:
    outcome = run("align", takes / "merle.mp4", takes / "wren.mp4", "--format", "json")
    assert (outcome.status, outcome.err) == (0, "")
    told = json.loads(outcome.out)
    assert told["matched"] is True
    assert told["offset_s"] == pytest.approx(-OFFSET_S, abs=NEAR_S)
    assert 0 < told["confidence"] <= 1
    assert told["drift_ppm"] is None
    assert told["sound_offset_s"] is None


def test_text_says_what_the_offset_means(run: Runner, takes: Path) -> None:
    outcome = run("align", takes / "wren.mp4", takes / "merle.mp4")
    assert outcome.status == 0
    first, *_ = outcome.out.splitlines()
    assert first.startswith("A moment at t in the first capture is at t + 0.6")
    assert first.endswith(" s in the second.")


def test_unrelated_captures_are_one_line_and_status_1(run: Runner, takes: Path) -> None:
    first, second = takes / "merle.mp4", takes / "other.mp4"
    outcome = run("align", first, second)
    assert (outcome.status, outcome.out) == (1, "")
    assert outcome.err == (
        f"Error: captures must show the same content, got nothing surely alike in {first} and "
        f"{second}; name a moment of it with --around, or set the times by hand\n"
    )


def test_unrelated_captures_are_no_match_in_json(run: Runner, takes: Path, tmp_path: Path) -> None:
    pairs = tmp_path / "pairs.png"
    outcome = run(
        "align", takes / "merle.mp4", takes / "other.mp4", "--format", "json", "-o", pairs
    )
    assert (outcome.status, outcome.err) == (1, "")
    told = json.loads(outcome.out)
    assert told["matched"] is False
    assert told["offset_s"] is None
    assert not pairs.exists()


def test_pairs_are_a_picture_of_the_same_moments(run: Runner, takes: Path, tmp_path: Path) -> None:
    path = tmp_path / "pairs.png"
    request = ("align", takes / "merle.mp4", takes / "wren.mp4", "-o", path)
    assert run(*request).status == 0
    with av.open(str(path)) as container:
        picture = next(container.decode(video=0)).to_ndarray(format="gray").astype(float)
    # Four columns of two pictures, each brighter than the ground in the same places.
    row_means = picture.mean(axis=1)
    lit = np.flatnonzero(np.diff((row_means > row_means.min() + 8).astype(int)))
    assert picture.shape[1] == 1920
    assert len(lit) >= 4

    before = path.read_bytes()
    refused = run(*request)
    assert refused.status == 2
    assert refused.err.startswith("Error: output must not exist yet, got")
    assert path.read_bytes() == before
    assert run(*request, "--overwrite").status == 0


def test_around_looks_near_a_moment_only(run: Runner, takes: Path) -> None:
    captures = (takes / "merle.mp4", takes / "wren.mp4")
    outcome = run("align", *captures, "--around", "0:02.000", "--format", "json")
    assert json.loads(outcome.out)["offset_s"] == pytest.approx(-OFFSET_S, abs=NEAR_S)


@pytest.mark.parametrize(
    ("options", "status", "words"),
    [
        (["--around", "9"], 2, "inside the capture, got 9; merle.mp4 is 0:04.000 long"),
        (["--around", "soon"], 2, "time must be seconds, mm:ss.mmm"),
        (["--format", "xml"], 2, "'xml' is not one of 'text', 'json'"),
        (["-o", "pairs.gif"], 2, "drawing must be a file named .png, .svg, .pdf, got pairs.gif"),
        (["-o", "nowhere/pairs.png"], 1, "output folder must exist, got nowhere"),
    ],
)
def test_requests_that_make_no_sense(
    run: Runner, takes: Path, options: list[str], status: int, words: str
) -> None:
    outcome = run("align", takes / "merle.mp4", takes / "wren.mp4", *options)
    assert outcome.status == status
    assert words in outcome.err
    assert outcome.err.count("\n") == 1
    assert outcome.out == ""


@pytest.mark.parametrize("place", [0, 1])
def test_what_is_no_capture(run: Runner, takes: Path, tmp_path: Path, place: int) -> None:
    text = tmp_path / "letter.mp4"
    text.write_text("Dear harbour master,\n" * 100)
    captures = [Path(shutil.copy(takes / "merle.mp4", tmp_path)), tmp_path / "gone.mp4"]
    for wrong, words in ((text, "a whole video file"), (captures[1], "capture must exist, got")):
        pair = [captures[0], captures[0]]
        pair[place] = wrong
        outcome = run("align", *pair)
        assert outcome.status == 1
        assert words in outcome.err
        assert outcome.err.count("\n") == 1
    assert names(tmp_path) == {"letter.mp4", "merle.mp4"}


def test_a_record_beside_a_capture_changes_nothing(
    run: Runner, takes: Path, tmp_path: Path
) -> None:
    captures = [Path(shutil.copy(takes / name, tmp_path)) for name in ("merle.mp4", "wren.mp4")]
    fresh = run("align", *captures, "--format", "json").out
    for capture in captures:
        assert run("measure", capture).status == 0
    assert run("align", *captures, "--format", "json").out == fresh


def test_a_longer_and_slower_clock_is_a_positive_drift(run: Runner, tmp_path: Path) -> None:
    """The second capture starts before the first, and its clock gains 400 parts in a million."""
    drift, offset_s = Fraction(400, 10**6), Fraction(3, 2)
    size = 128, 72
    for name, start_s, pace in (("first", Fraction(0), 1), ("second", offset_s, 1 + drift)):
        flips = steady(30, 24)
        simulation = Simulation(
            blobs(5, *size),
            flips,
            Display(Fraction(30), True),
            refreshes=720,
            program_s=[(flip - start_s) / pace for flip in flips],
        )
        encoding = Encoding(options={"crf": "20", "preset": "ultrafast"}, audio=False)
        write_pictures(tmp_path / f"{name}.mp4", simulation.pictures(), Fraction(30), 720, encoding)
    there, back = (
        json.loads(
            run("align", *(tmp_path / f"{name}.mp4" for name in names), "--format", "json").out
        )
        for names in (("first", "second"), ("second", "first"))
    )
    assert there["drift_ppm"] == pytest.approx(400, abs=100)
    assert back["drift_ppm"] == pytest.approx(-400, abs=100)
    # At t + offset + drift * t, and told for the moment at_s of the first.
    expected_s = float(offset_s + drift * Fraction(there["at_s"]))
    assert there["offset_s"] == pytest.approx(expected_s, abs=NEAR_S)
    assert back["offset_s"] == pytest.approx(-expected_s, abs=NEAR_S)
