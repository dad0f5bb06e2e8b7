import numpy as np
from numpy.typing import NDArray

from pacerail.detect.change import ChangeMeter
from pacerail.region import Region

ROWS, COLUMNS = 96, 160


def flat(value: int = 100) -> NDArray[np.uint8]:
    return np.full((ROWS, COLUMNS), value, np.uint8)


def with_spot(row: int, column: int, size: int = 16, by: int = 40) -> NDArray[np.uint8]:
    picture = flat()
    picture[row : row + size, column : column + size] += np.uint8(by)
    return picture


def test_equal_pictures_do_not_change() -> None:
    change = ChangeMeter(ROWS, COLUMNS, 8).measure(flat(), flat())
    assert change.strongest == 0
    assert not change.bands.any()
    assert not change.row_energy().any()


def test_a_small_moving_thing_counts_like_a_large_one() -> None:
    meter = ChangeMeter(ROWS, COLUMNS, 8)
    small = meter.measure(flat(), with_spot(32, 64, size=32)).strongest
    large = meter.measure(flat(), flat(140)).strongest
    assert small == large == 40


def test_only_the_bands_of_the_thing_change() -> None:
    change = ChangeMeter(ROWS, COLUMNS, 8).measure(flat(), with_spot(32, 64))
    np.testing.assert_array_equal(np.flatnonzero(change.bands), [4, 5])


def test_deep_samples_are_measured_in_8_bit_codes() -> None:
    a, b = flat().astype(np.uint16) * 4, with_spot(32, 64).astype(np.uint16) * 4
    deep = ChangeMeter(ROWS, COLUMNS, 10).measure(a, b)
    shallow = ChangeMeter(ROWS, COLUMNS, 8).measure(flat(), with_spot(32, 64))
    assert deep.strongest == shallow.strongest
    np.testing.assert_allclose(deep.row_energy(), shallow.row_energy())


def test_nothing_outside_the_watched_region_counts() -> None:
    meter = ChangeMeter(ROWS, COLUMNS, 8, watch=Region(0, 0, 0.3, 1))
    assert meter.measure(flat(), with_spot(32, 64)).strongest == 0
    assert meter.measure(flat(), with_spot(32, 16)).strongest > 0


def test_nothing_inside_an_ignored_region_counts() -> None:
    meter = ChangeMeter(ROWS, COLUMNS, 8, ignore=(Region(0.35, 0.3, 0.2, 0.3),))
    assert meter.measure(flat(), with_spot(32, 64)).strongest == 0
    assert meter.measure(flat(), with_spot(64, 64)).strongest > 0


def test_a_tiny_watched_region_is_widened_to_one_block() -> None:
    meter = ChangeMeter(ROWS, COLUMNS, 8, watch=Region(0.99, 0.99, 0.01, 0.01))
    assert meter.rows >= 8
    assert meter.blocks == 1
    assert meter.measure(flat(), flat(101)).strongest == 1
