from __future__ import annotations

import json
from pathlib import Path

import av
import numpy as np
import pytest

from tests.cli.running import Runner, names
from tests.sharpness.pictures_made import record_pictures, shown, stairs_picture


@pytest.fixture(scope="module")
def clips(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A steady capture, one that changes its resolution, one with bars, and one with an edge."""
    folder = tmp_path_factory.mktemp("pixels")
    steady, small = shown("foliage", 300), shown("foliage", 264)
    record_pictures(folder / "steady.mkv", [*steady, *steady])
    record_pictures(folder / "changing.mkv", [*steady, *small], rate=8)
    framed = [np.pad(picture, ((60, 60), (0, 0)), constant_values=16) for picture in steady]
    record_pictures(folder / "framed.mkv", framed)
    record_pictures(folder / "still.mkv", [steady[0]] * 6)
    record_pictures(folder / "edge.mkv", [stairs_picture(540, 0.1)] * 2)
    return folder


def test_json_is_one_object(run: Runner, clips: Path) -> None:
    outcome = run("pixels", clips / "steady.mkv", "--format", "json")
    assert (outcome.status, outcome.err) == (0, "")
    told = json.loads(outcome.out)
    assert (told["status"], told["width"], told["height"]) == ("upscaled", 533, 300)
    assert 0.5 <= told["confidence"] <= 1
    assert told["candidates"][0]["height"] == 300
    assert (told["shown_width"], told["shown_height"]) == (640, 360)
    assert told["changes"] is False
    assert len(told["series"]) == 1


def test_a_changing_size_is_said_and_listed(run: Runner, clips: Path) -> None:
    path = clips / "changing.mkv"
    told = json.loads(run("pixels", path, "--format", "json").out)
    assert told["changes"] is True
    assert [window["height"] for window in told["series"]] == [300, 264]
    assert [window["from_s"] for window in told["series"]] == [0.0, 0.5]
    text = run("pixels", path).out
    assert "The resolution changes: heights of 264, 300 lines.\n" in text
    assert "0.500 s  469 x 264  upscaled, confidence" in text
    late = json.loads(run("pixels", path, "--from", "0.5", "--format", "json").out)
    assert (late["changes"], late["height"]) == (False, 264)


def test_still_pictures_count_once(run: Runner, clips: Path) -> None:
    told = json.loads(run("pixels", clips / "still.mkv", "--format", "json").out)
    assert told["pictures"] == 1


def test_bars_are_left_out(run: Runner, clips: Path) -> None:
    told = json.loads(run("pixels", clips / "framed.mkv", "--format", "json").out)
    # 300 of 360 lines, as a share of the 480 that are shown.
    assert told["height"] == pytest.approx(400, rel=0.01)


def test_one_picture_and_a_part_of_it(run: Runner, clips: Path) -> None:
    request = ("pixels", clips / "steady.mkv", "--at", "0.05", "--format", "json")
    told = json.loads(run(*request).out)
    assert told["pictures"] == 1
    assert told["from_s"] == 0.05
    part = json.loads(run(*request, "--region", "0,0,1,0.5", "--region", "0,0.5,1,0.5").out)
    assert part["status"] in ("upscaled", "unknown")


def test_the_evidence_is_a_picture(run: Runner, clips: Path, tmp_path: Path) -> None:
    path = tmp_path / "evidence.png"
    request = ("pixels", clips / "changing.mkv", "--label", "Merle", "-o", path)
    assert run(*request).status == 0
    with av.open(str(path)) as container:
        picture = next(container.decode(video=0)).to_ndarray(format="rgb24").astype(int)
    assert picture.shape[1] == 1920
    # What is found stands out in amber: a bar in each plot, and the tiles of both windows.
    amber = np.all(np.abs(picture - (0xE6, 0x9F, 0x00)) <= 2, axis=2)
    assert amber[: len(amber) // 2].sum() > 100
    assert amber[-300:].sum() > 50_000
    refused = run(*request)
    assert refused.status == 2
    assert "output must not exist yet" in refused.err


@pytest.mark.parametrize(
    ("options", "status", "words"),
    [
        (["--at", "0", "--from", "0"], 2, "moment must stand alone, got --at 0 beside"),
        (["--at", "9"], 2, "moment must lie inside the capture, got 9"),
        (["--region", "0,0,2,1"], 2, "region must lie inside the picture"),
        (["-o", "evidence.gif"], 2, "drawing must be a file named .png, .svg, .pdf"),
        (["--style", "none-such"], 2, "none-such"),
    ],
)
def test_requests_that_make_no_sense(
    run: Runner, clips: Path, options: list[str], status: int, words: str
) -> None:
    outcome = run("pixels", clips / "steady.mkv", *options)
    assert (outcome.status, outcome.out) == (status, "")
    assert words in outcome.err
    assert outcome.err.count("\n") == 1


def test_steps_are_counted_and_ticked(run: Runner, clips: Path, tmp_path: Path) -> None:
    path = tmp_path / "crop.png"
    request = ("steps", clips / "edge.mkv", "--at", "0", "--edge", "200,308,700,358")
    told = json.loads(run(*request, "--format", "json").out)
    assert told["counts"] == "rows"
    assert told["size"] == pytest.approx(540, rel=0.015)
    assert told["least"] < told["size"] < told["most"]
    outcome = run(*request, "-o", path)
    assert outcome.status == 0
    assert outcome.out.startswith(f"{told['steps']} steps over {told['extent']:.1f} rows: native")
    with av.open(str(path)) as container:
        picture = next(container.decode(video=0)).to_ndarray(format="rgb24").astype(int)
    amber = np.all(np.abs(picture - (0xE6, 0x9F, 0x00)) <= 2, axis=2)
    starts = np.diff(amber.any(axis=0).astype(int)) == 1
    assert starts.sum() == told["steps"] + 1


def test_a_mark_off_any_edge_is_refused(run: Runner, clips: Path, tmp_path: Path) -> None:
    request = ("steps", clips / "edge.mkv", "--at", "0", "--edge", "200,100,700,150")
    outcome = run(*request, "-o", tmp_path / "crop.png")
    assert (outcome.status, outcome.out) == (2, "")
    assert outcome.err.startswith("Error: edge must stand out along the mark")
    assert names(tmp_path) == set()


def test_the_edit_sheet_asks_for_it_too(run: Runner, clips: Path, tmp_path: Path) -> None:
    sheet = tmp_path / "edit.toml"
    sheet.write_text(
        'output = "made"\n'
        f'[platforms.merle]\nlabel = "Merle"\ncaptures = ["{clips / "steady.mkv"}"]\n'
        '[segments.dash]\nin = "0"\nlength = "0.1"\n'
        '[[segments.dash.outputs]]\nkind = "pixels"\nregions = [[0, 0, 1, 1]]\n',
        encoding="utf-8",
    )
    outcome = run("build", sheet, "--jobs", "1")
    assert outcome.status == 0, outcome.err
    folder = tmp_path / "made" / "dash"
    assert names(folder) == {"merle.pixels.png", "merle.pixels.json"}
    told = json.loads((folder / "merle.pixels.json").read_text(encoding="utf-8"))
    assert (told["status"], told["height"], told["to_s"]) == ("upscaled", 300, 0.1)
