from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from pacerail.align.thumbnail import (
    COLUMNS,
    ROWS,
    ActiveArea,
    Reducer,
    Thumbnail,
    active_area,
    cell_means,
)
from pacerail.picture import Luma

WHOLE = ActiveArea()


def picture(rows: int, columns: int, bit_depth: int = 8) -> Luma:
    """A smooth slope with a hill: the same picture at any size."""
    y, x = (np.mgrid[:rows, :columns] + 0.5) / np.array([rows, columns])[:, None, None]
    light = 0.2 + 0.4 * x + 0.3 * np.exp(-((x - 0.3) ** 2 + (y - 0.6) ** 2) * 20)
    codes: NDArray[np.float64] = np.rint(light * (1 << bit_depth) * 0.99)
    return codes.astype(np.uint8) if bit_depth == 8 else codes.astype(np.uint16)


def thumbnail_of(luma: Luma, bit_depth: int = 8, area: ActiveArea = WHOLE) -> Thumbnail:
    rows, columns = luma.shape
    return Reducer(rows, columns, bit_depth, area).thumbnail(luma)


def test_cells_hold_the_mean_of_their_samples() -> None:
    luma = np.random.default_rng(0).integers(0, 256, (5 * ROWS, 3 * COLUMNS)).astype(np.uint8)
    expected = luma.reshape(ROWS, 5, COLUMNS, 3).mean(axis=(1, 3)) / 256
    np.testing.assert_allclose(thumbnail_of(luma), expected, atol=1e-5)


def test_a_row_on_an_edge_counts_for_both_cells_in_part() -> None:
    samples = np.array([[0.0], [10.0], [40.0]], np.float32)
    means = cell_means(samples, np.array([0.0, 1.5, 3.0]))
    np.testing.assert_allclose(means[:, 0], [(0 + 5) / 1.5, (5 + 40) / 1.5], rtol=1e-6)


@pytest.mark.parametrize("size", [(144, 256), (216, 384), (1080, 1920), (480, 720)])
def test_the_size_of_a_picture_does_not_show(size: tuple[int, int]) -> None:
    small, other = thumbnail_of(picture(180, 320)), thumbnail_of(picture(*size))
    # A code value; samples are taken at other places.
    np.testing.assert_allclose(small, other, atol=1 / 256)


def test_the_bit_depth_does_not_show() -> None:
    eight, ten = (thumbnail_of(picture(180, 320, depth), depth) for depth in (8, 10))
    np.testing.assert_allclose(eight, ten, atol=1 / 256)


@pytest.mark.parametrize("bit_depth", [8, 10])
def test_bars_are_left_out_and_do_not_show(bit_depth: int) -> None:
    inside = picture(180, 320, bit_depth)
    black = 16 << (bit_depth - 8)
    barred = picture(230, 332, bit_depth)
    barred[:] = black
    barred[30:210, 12:] = inside
    area = active_area([(barred, bit_depth)])
    assert area == ActiveArea(30 / 230, 210 / 230, 12 / 332, 1.0)
    np.testing.assert_allclose(
        thumbnail_of(barred, bit_depth, area),
        thumbnail_of(inside, bit_depth),
        atol=1e-5,
    )


def test_what_is_dark_only_for_a_while_is_no_bar() -> None:
    night, day = np.full((180, 320), 18, np.uint8), picture(180, 320)
    night[45:135] = day[45:135]
    assert active_area([(night, 8)]) == ActiveArea(top=0.25, bottom=0.75)
    assert active_area([(night, 8), (day, 8)]) == ActiveArea()


@pytest.mark.parametrize("glimpses", [[], [(np.full((90, 160), 16, np.uint8), 8)]])
def test_without_any_light_all_of_it_is_picture(glimpses: list[tuple[Luma, int]]) -> None:
    assert active_area(glimpses) == ActiveArea()
