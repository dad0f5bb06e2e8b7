from __future__ import annotations

import numpy as np
import pytest

from pacerail.detect.change import ChangeMeter
from pacerail.detect.mirror import EDGE_ROWS, Profile, mirror_rows, parting_rows
from pacerail.picture import Luma

ROWS, COLUMNS = 180, 320


def frame(step: int) -> Luma:
    """Rows of unequal texture that move along with each step, under noise of the capture."""
    texture = np.random.default_rng(5).normal(0, 1, (ROWS, COLUMNS + 64))
    contrast = np.exp(np.random.default_rng(6).normal(2.2, 0.8, (ROWS, 1)))
    noise = np.random.default_rng(100 + step).normal(0, 1, (ROWS, COLUMNS))
    moved = texture[:, 3 * step : 3 * step + COLUMNS]
    return np.clip(np.round(120 + contrast * moved + noise), 0, 255).astype(np.uint8)


def torn(upper: Luma, lower: Luma, row: int) -> Luma:
    return np.concatenate([upper[:row], lower[row:]])


def profiles(before: Luma, picture: Luma, after: Luma) -> tuple[Profile, Profile]:
    meter = ChangeMeter(ROWS, COLUMNS, 8)
    return Profile(meter.measure(before, picture)), Profile(meter.measure(picture, after))


def found(*pictures: Luma) -> tuple[list[int], list[float]]:
    """What is found in the second of three pictures."""
    rows, octaves = mirror_rows(*profiles(*pictures))
    return rows.tolist(), octaves.tolist()


@pytest.mark.parametrize("row", [24, 36, 60, 81, 96, 120, 158])
def test_a_tear_is_found_at_its_very_row(row: int) -> None:
    rows, octaves = found(frame(0), torn(frame(0), frame(1), row), frame(1))
    assert rows == [row]
    assert octaves[0] > 2


@pytest.mark.parametrize("row", [ROWS - 6, ROWS - 3])
def test_a_tear_in_the_last_rows_is_found_under_texture_that_fades(row: int) -> None:
    # All that the last rows do next is less than what those above them do.
    quiet = np.ones((ROWS, 1))
    quiet[ROWS - 40 : ROWS - 8] = 0.4

    def shown(step: int) -> Luma:
        return (120 + quiet * (frame(step) - 120.0)).astype(np.uint8)

    rows, octaves = found(shown(0), torn(shown(0), shown(1), row), shown(1))
    assert rows == [row]
    assert octaves[0] > 1


@pytest.mark.parametrize("row", [47, 90, 133])
def test_rows_that_coding_mixes_beside_a_tear_do_not_move_it(row: int) -> None:
    picture = torn(frame(0), frame(1), row)
    mixed = picture.astype(float)
    for reach, share in ((0, 0.4), (1, 0.2)):
        above, below = row - 1 - reach, row + reach
        mixed[above] = (1 - share) * frame(0)[above] + share * frame(1)[above]
        mixed[below] = (1 - share) * frame(1)[below] + share * frame(0)[below]
    rows, _ = found(frame(0), mixed.astype(np.uint8), frame(1))
    assert rows == [row]


def test_two_tears_in_one_refresh_are_no_mirror() -> None:
    # All below the upper one changes now, all above the lower one next: they overlap.
    picture = torn(torn(frame(0), frame(1), 60), frame(2), 120)
    assert found(frame(0), picture, frame(2))[0] == []


def test_nothing_is_found_without_a_tear() -> None:
    assert found(frame(0), frame(1), frame(2))[0] == []
    assert found(frame(0), frame(0), frame(1))[0] == []


def test_the_row_that_parts_two_changes_is_found_from_nearby() -> None:
    given = profiles(frame(0), torn(frame(0), frame(1), 83), frame(1))
    near = np.array([79, 83, 87])
    assert parting_rows(near, 4, *given).tolist() == [83, 83, 83]


def test_a_frame_that_comes_late_parts_the_picture_at_its_row_though_all_moves_on() -> None:
    given = profiles(frame(0), torn(frame(0), frame(1), 83), frame(2))
    assert parting_rows(np.array([75, 80, 83, 90]), 12, *given).tolist() == [83] * 4


def test_the_row_that_parts_two_changes_lies_inside_the_picture() -> None:
    given = profiles(frame(0), torn(frame(0), frame(1), 83), frame(1))
    edges = parting_rows(np.array([0, ROWS]), 4, *given)
    assert edges.min() >= EDGE_ROWS
    assert edges.max() <= ROWS - EDGE_ROWS
