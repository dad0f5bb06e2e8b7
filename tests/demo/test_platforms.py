"""The two machines of the demonstration fare as they are meant to."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import av
import numpy as np
import pytest

import demo
from demo.make import make
from demo.platforms import PLATFORMS, REFRESH_HZ, Platform
from demo.scene import DURATION_S, STORYBOARD
from demo.simulator import Display, scan
from demo.truth import Truth
from pacerail.record import Verdict
from pacerail.scanout import scan_out_of_height
from pacerail.sharpness.stairs import Mark, count_stairs
from pacerail.sheet.sheet import load_sheet

MERLE, WREN = PLATFORMS


def stripes(platform: Platform) -> list[tuple[tuple[int, int], ...]]:
    display = Display(REFRESH_HZ, platform.sync)
    refreshes = int(platform.duration_s * REFRESH_HZ)
    return scan(platform.flip_s, display, 720, refreshes, scan_out_of_height(720))


def test_merle_holds_60_with_a_few_late_frames_and_two_stalls() -> None:
    assert all(len(shown) == 1 for shown in stripes(MERLE))
    frames = [shown[0][1] for shown in stripes(MERLE)]
    flips = [k for k, (a, b) in enumerate(pairwise(frames)) if a != b]
    holds = np.diff(flips)
    assert (holds == 1).mean() > 0.97
    assert 5 <= (holds == 2).sum() <= 12
    assert sorted(holds[holds > 2].tolist()) == [7, 15]


def test_wren_tears_and_never_reaches_60() -> None:
    shown = stripes(WREN)
    tears = sum(len(refresh) - 1 for refresh in shown)
    frame_times_ms = np.diff([float(flip) for flip in WREN.flip_s]) * 1000
    assert tears > 0.8 * len(frame_times_ms)
    assert 28 < 1000 / np.median(frame_times_ms) < 42
    assert frame_times_ms.max() == pytest.approx(300, abs=45)
    rows = {row for refresh in shown for row, _ in refresh[1:]}
    assert len(rows) > 200


def test_uneven_pacing_alternates_one_and_three_refreshes() -> None:
    times = np.diff([float(flip) for flip in WREN.flip_s if 5.3 < flip < 8.5]) * float(REFRESH_HZ)
    assert np.round(times).astype(int).tolist() in (
        ([1, 3] * len(times))[: len(times)],
        ([3, 1] * len(times))[: len(times)],
    )


@pytest.mark.parametrize("platform", PLATFORMS, ids=lambda platform: platform.label)
def test_what_follows_a_longer_load_comes_later(platform: Platform) -> None:
    loading, after = (next(c for c in STORYBOARD if c.name == name) for name in ("loading", "fog"))
    assert platform.program_s(loading.start_s) == loading.start_s
    assert platform.program_s(platform.loaded_s) == after.start_s
    assert platform.program_s(platform.duration_s) == DURATION_S
    times = [platform.program_s(flip) for flip in platform.flip_s]
    assert all(a < b for a, b in pairwise(times))
    assert after.start_s in times, "the first picture after the load is whole"


def test_wren_loads_longer_than_merle() -> None:
    assert (MERLE.load_s, WREN.load_s) == (Fraction("1.4"), Fraction("2.3"))


@pytest.mark.parametrize(("platform", "rows"), [(MERLE, 720), (WREN, 540)], ids=["Merle", "Wren"])
def test_steps_along_the_boom_tell_at_what_size_the_mast_was_drawn(
    platform: Platform, rows: int
) -> None:
    """Along the edge that the demo's sheet marks."""
    sheet = load_sheet(Path(demo.__file__).parent / "harbour.toml")
    x0, y0, x1, y1 = map(float, sheet.stills["mast"].steps[platform.label.lower()])
    picture = next(platform.mast(1280, 720).pictures())
    luma = np.ascontiguousarray(picture.rgb[..., 1])
    counted = count_stairs(luma, 8, Mark(x0, y0, x1, y1))
    assert counted.counts == "rows"
    assert counted.least <= rows <= counted.most


def test_a_platform_becomes_a_capture_and_its_truth(tmp_path: Path) -> None:
    path = make(WREN, tmp_path, size=(160, 90))
    truth = Truth.load(tmp_path / "wren.truth.json")
    with av.open(str(path)) as container:
        pictures = sum(1 for _ in container.decode(video=0))
    assert pictures == len(truth.verdict) == int(WREN.duration_s * REFRESH_HZ)
    assert (tmp_path / "wren-mast.mp4").stat().st_size > 1000
    # The pause holds one picture for 0.8 s, and then brings one flip.
    still = [verdict for k, verdict in enumerate(truth.verdict) if 7.06 < k / 60 < 7.75]
    assert set(still) == {Verdict.HELD}
    assert sum(flip.is_torn for flip in truth.flips) > 300
