"""Seams between two frames, and what only looks like one."""

import numpy as np
from numpy.typing import NDArray

from pacerail.detect.seam import SeamFinder
from pacerail.picture import Picture

ROWS, COLUMNS = 360, 640


def found_rows(lumas: list[NDArray[np.uint8]]) -> list[int]:
    """Rows of the seams in the second of three pictures."""
    pictures = [
        Picture(refresh, refresh * 1001, luma, 8, "P", is_corrupt=False)
        for refresh, luma in enumerate(lumas)
    ]
    finder = SeamFinder((slice(0, ROWS), slice(0, COLUMNS)), 8)
    return [seam.row for seam in finder.rows(*pictures, after_cut=False)]


def texels(seed: int, height: int) -> NDArray[np.uint8]:
    """Texture magnified to cells of a height and half as wide again, at no fixed row."""
    random = np.random.default_rng(seed)
    wide = 3 * height // 2
    cells = random.integers(20, 230, (ROWS // height + 2, COLUMNS // wide + 1)).astype(np.uint8)
    magnified = cells.repeat(height, axis=0).repeat(wide, axis=1)
    first = int(random.integers(height))
    return magnified[first : first + ROWS, :COLUMNS]


def test_a_picture_of_two_frames_shows_where_they_meet() -> None:
    still = np.random.default_rng(3).integers(20, 230, (ROWS, COLUMNS + 40)).astype(np.uint8)
    smooth = (still[:, :-1] // 2 + still[:, 1:] // 2).cumsum(axis=0) // np.arange(1, ROWS + 1)[
        :, None
    ]
    frames = [smooth[:, 12 * k : 12 * k + COLUMNS].astype(np.uint8) for k in range(3)]
    torn = np.concatenate([frames[0][:200], frames[1][200:]])
    assert found_rows([frames[0], torn, frames[1]]) == [200]


def test_texture_that_moves_faster_than_it_can_be_followed_has_no_seams() -> None:
    for seed in range(5):
        assert found_rows([texels(10 * seed + k, 14) for k in range(3)]) == []
