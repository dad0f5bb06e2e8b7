from __future__ import annotations

import numpy as np
import pytest

from pacerail.region import Region
from pacerail.sharpness.estimate import estimate
from pacerail.sharpness.look import look_at
from pacerail.sharpness.series import Window, size_series
from tests.bench.pixels import coded, estimated
from tests.sharpness.pictures_made import COLUMNS, ROWS, drawn, estimate_of, shown

WITHIN = 0.01
"""Of the native height: what the trade counts as the same size (common practice)."""


@pytest.mark.parametrize(
    ("rows", "kernel"),
    [
        *((rows, "bicubic") for rows in (324, 300, 270, 264, 240, 216)),
        *((rows, "bilinear") for rows in (324, 270, 144)),
        *((rows, "bicubic") for rows in (162, 108)),
        *((rows, "lanczos") for rows in (300, 216)),
    ],
)
def test_the_native_size_is_found(rows: int, kernel: str) -> None:
    found = estimate_of(shown("foliage", rows, kernel=kernel))
    assert found.status == "upscaled"
    assert found.height == pytest.approx(rows, rel=WITHIN)
    assert found.width == pytest.approx(COLUMNS * rows / ROWS, rel=WITHIN)
    assert found.confidence >= 0.5
    assert found.candidates[0].height == found.height


def test_648_lines_shown_at_720_are_found() -> None:
    """A picture nine tenths high is a case that the trade counts (common practice)."""
    pictures = shown("polygons", 648, size=(720, 1280))
    found = estimated(coded(pictures, 16))
    assert (found.status, found.width, found.height) == ("upscaled", 1152, 648)


@pytest.mark.parametrize("crf", [18, 28])
@pytest.mark.parametrize("scene", ["terrain", "foliage", "letters"])
def test_coded_native_pictures_are_never_called_enlarged(scene: str, crf: int) -> None:
    assert estimated(coded(shown(scene, ROWS), crf)).status != "upscaled"


@pytest.mark.parametrize("scene", ["foliage", "polygons"])
def test_hard_edges_all_over_are_native(scene: str) -> None:
    found = estimate_of(shown(scene, ROWS))
    assert (found.status, found.width, found.height) == ("native", COLUMNS, ROWS)


@pytest.mark.parametrize("kernel", ["bilinear", "bicubic"])
def test_an_exact_factor_of_two_cannot_be_told(kernel: str) -> None:
    found = estimate_of(shown("foliage", ROWS // 2, kernel=kernel))
    assert (found.status, found.width, found.height) == ("unknown", None, None)


def test_whole_samples_repeated_are_not_native() -> None:
    doubled = tuple(
        picture.repeat(2, axis=0).repeat(2, axis=1)
        for picture in drawn("foliage", ROWS // 2, COLUMNS // 2)
    )
    assert estimate_of(doubled).status == "unknown"


def test_one_direction_alone() -> None:
    found = estimate_of(shown("foliage", ROWS, 533))
    assert found.status == "upscaled"
    assert found.height == ROWS
    assert found.width == pytest.approx(533, rel=WITHIN)


def test_different_factors_in_both_directions() -> None:
    found = estimate_of(shown("foliage", 300, 496))
    assert found.status == "upscaled"
    assert found.height == pytest.approx(300, rel=WITHIN)
    assert found.width == pytest.approx(496, rel=WITHIN)


def test_three_quarters_across_only_is_told_from_a_codec() -> None:
    found = estimate_of(shown("foliage", ROWS, 480))
    assert (found.status, found.width, found.height) == ("upscaled", 480, ROWS)


def test_aliases_are_listed() -> None:
    found = estimate_of(shown("foliage", 240))
    heights = {candidate.height for candidate in found.candidates}
    assert {240, ROWS - 240, 2 * ROWS - 240} <= heights
    assert sum(candidate.confidence for candidate in found.candidates) <= 1


def test_noise_and_sharpening_after_enlarging() -> None:
    rng = np.random.default_rng(5)
    treated = []
    for picture in shown("foliage", 300):
        values = picture.astype(float)
        around = sum(np.roll(values, shift, axis) for shift in (-1, 1) for axis in (0, 1)) / 4
        values += 0.5 * (values - around) + rng.normal(0, 3, values.shape)
        treated.append(np.clip(np.rint(values), 0, 255).astype(np.uint8))
    found = estimate_of(tuple(treated))
    assert found.height == pytest.approx(300, rel=WITHIN)


def test_a_native_panel_over_an_enlarged_scene() -> None:
    panels = [panel.copy() for panel in shown("letters", ROWS)]
    for panel, scene in zip(panels, shown("foliage", 300), strict=True):
        panel[: ROWS * 3 // 4] = scene[: ROWS * 3 // 4]
    whole = estimate_of(tuple(panels))
    assert whole.status != "native"
    scene_only = (Region(0, 0, 1, 0.75),)
    looks = [look_at(panel, 8, scene_only) for panel in panels]
    found = estimate(sum(looks[1:], looks[0]))
    assert found.height == pytest.approx(300, rel=WITHIN)


def test_ten_bits_say_the_same() -> None:
    pictures = shown("foliage", 300)
    looks = [
        look_at((picture.astype(np.uint16) << 2).astype(np.uint16), 10) for picture in pictures
    ]
    assert estimate(sum(looks[1:], looks[0])).height == estimate_of(pictures).height


def test_pictures_of_another_size_do_not_add() -> None:
    with pytest.raises(ValueError, match="pictures must be alike"):
        look_at(np.zeros((200, 300), np.uint8), 8) + look_at(np.zeros((200, 302), np.uint8), 8)


def test_a_flat_picture_says_nothing() -> None:
    found = estimate(look_at(np.full((ROWS, COLUMNS), 90, np.uint8), 8))
    assert (found.status, found.candidates) == ("unknown", ())


def test_a_changing_size_is_told_and_the_commonest_named() -> None:
    windows = []
    for number, rows in enumerate((300, 324, 300, 264, 300)):
        looks = [look_at(picture, 8) for picture in shown("foliage", rows)]
        look = sum(looks[1:], looks[0])
        windows.append(Window(number, number + 1, look, estimate(look)))
    series = size_series(windows)
    assert series.changes
    assert series.heights == (264, 300, 324)
    assert series.estimate.height == 300
    assert series.estimate.pictures == 3 * len(shown("foliage", 300))
    steady = size_series([window for window in windows if window.estimate.height == 300])
    assert not steady.changes
    assert steady.heights == (300,)
