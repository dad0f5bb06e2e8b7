"""The look, held against pictures that a person has looked at."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.draw.golden import (
    FOLDER,
    MOST_DIFFERENCE,
    MOST_MEAN_DIFFERENCE,
    difference,
    golden_pictures,
    read,
)

PICTURES = dict(golden_pictures())


@pytest.mark.parametrize("name", PICTURES)
def test_the_drawing_is_like_its_golden_picture(name: str) -> None:
    make: Callable[[], NDArray[np.uint8]] = PICTURES[name]
    wanted = read(name)
    drawn = make()[: wanted.shape[0], : wanted.shape[1]]
    assert drawn.shape == wanted.shape
    mean, largest = difference(drawn, wanted)
    assert mean <= MOST_MEAN_DIFFERENCE
    assert largest <= MOST_DIFFERENCE


def test_every_picture_in_the_folder_is_drawn() -> None:
    assert {path.stem for path in FOLDER.glob("*.png")} == set(PICTURES)


def test_a_tile_moved_by_three_pixels_is_noticed() -> None:
    wanted = read("quay-1080")
    moved = wanted.copy()
    moved[:, 600:900] = np.roll(wanted[:, 600:900], 3, axis=1)
    mean, largest = difference(moved, wanted)
    assert mean > MOST_MEAN_DIFFERENCE or largest > MOST_DIFFERENCE
