from __future__ import annotations

import numpy as np
import pytest
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from pacerail.detect.change import BAND_ROWS, ChangeMeter
from pacerail.detect.texture import LEAST_OCTAVES, MOST_OCTAVES, motion_octaves
from pacerail.picture import Luma

ROWS, COLUMNS = 96, 320


def texture(seed: int = 3) -> Luma:
    """Soft blobs, wider than the picture."""
    samples = np.random.default_rng(seed).normal(0, 1, (ROWS + 8, COLUMNS + 40))
    for axis in (0, 1):
        samples = sliding_window_view(samples, 5, axis=axis).mean(axis=-1)
    return np.clip(samples * 160 + 120, 0, 255).astype(np.uint8)


def octaves(previous: Luma, current: Luma, bit_depth: int = 8) -> NDArray[np.float64]:
    rows, columns = previous.shape
    change = ChangeMeter(rows, columns, bit_depth).measure(previous, current)
    return motion_octaves(previous, current, change)


def moved() -> tuple[Luma, Luma]:
    wide = texture()
    return wide[:ROWS, :COLUMNS].copy(), wide[:ROWS, 2 : COLUMNS + 2].copy()


def refined() -> tuple[Luma, Luma]:
    """A picture without its fine detail, and with it."""
    sharp = texture()[:ROWS, :COLUMNS]
    padded = np.pad(sharp.astype(float), 2, mode="edge")
    soft = sliding_window_view(padded, (5, 5)).mean(axis=(-1, -2))
    return soft.astype(np.uint8), sharp.copy()


def test_what_moves_counts_for_more_and_detail_that_comes_late_for_less() -> None:
    assert np.median(octaves(*moved())) > 0.3
    assert np.median(octaves(*refined())) < -0.3


def test_detail_that_goes_counts_as_detail_that_comes() -> None:
    soft, sharp = refined()
    assert octaves(soft, sharp) == pytest.approx(octaves(sharp, soft))


def test_the_octaves_are_bounded() -> None:
    for pair in (moved(), refined()):
        said = octaves(*pair)
        assert said.shape == (ROWS // BAND_ROWS,)
        assert LEAST_OCTAVES <= said.min() <= said.max() <= MOST_OCTAVES


def test_light_that_goes_up_alike_everywhere_keeps_its_texture() -> None:
    picture = texture()[:ROWS, :COLUMNS] // 2
    assert octaves(picture, picture + np.uint8(20)) == pytest.approx(MOST_OCTAVES)


def test_a_repeat_says_nothing() -> None:
    picture = texture()[:ROWS, :COLUMNS]
    assert not octaves(picture, picture.copy()).any()


def test_the_bit_depth_changes_nothing() -> None:
    previous, current = moved()
    deep = previous.astype(np.uint16) * 4, current.astype(np.uint16) * 4
    assert octaves(*deep, bit_depth=10) == pytest.approx(octaves(previous, current), abs=1e-5)


def test_a_picture_narrower_than_two_blocks() -> None:
    previous, current = moved()
    assert octaves(previous[:, :20], current[:, :20]).shape == (ROWS // BAND_ROWS,)
