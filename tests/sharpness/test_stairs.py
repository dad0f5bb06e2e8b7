from __future__ import annotations

import numpy as np
import pytest

from pacerail.errors import UsageError
from pacerail.sharpness.stairs import Mark, count_stairs
from tests.sharpness.pictures_made import stairs_picture

SLOPE = 0.1


def mark(slope: float = SLOPE, first: float = 200, last: float = 700) -> Mark:
    return Mark(first, 288 + slope * first, last, 288 + slope * last)


@pytest.mark.parametrize("slope", [0.05, 0.1, 0.18])
@pytest.mark.parametrize("native", [720, 648, 540, 528, 480])
def test_steps_count_native_rows(native: int, slope: float) -> None:
    found = count_stairs(stairs_picture(native, slope), 8, mark(slope))
    assert found.counts == "rows"
    assert found.size == pytest.approx(native, rel=0.015)
    assert found.least <= native <= found.most
    # The marked edge climbs by so many native rows; what is cut off at its ends is less
    # than a step each.
    climbed = 500 * slope * native / 720
    assert climbed - 2 < found.steps <= climbed + 1
    assert len(found.jumps) == found.steps + 1


def test_one_step_more_or_less_is_the_bound() -> None:
    found = count_stairs(stairs_picture(540, SLOPE), 8, mark())
    assert found.most - found.size == pytest.approx(found.size / found.steps)
    assert found.size - found.least == pytest.approx(found.size / found.steps)


def test_a_steep_edge_counts_columns() -> None:
    flat = stairs_picture(540, SLOPE)
    level, steep = mark(), Mark(288 + 20, 200, 288 + 70, 700)
    down = count_stairs(flat, 8, level)
    across = count_stairs(np.ascontiguousarray(flat.T), 8, steep)
    assert across.counts == "columns"
    assert across.steps == down.steps
    assert across.size == pytest.approx(down.size)
    assert np.array(across.jumps) == pytest.approx(np.array(down.jumps)[:, ::-1])


def test_direction_contrast_and_depth_do_not_matter() -> None:
    picture = stairs_picture(540, SLOPE)
    found = count_stairs(picture, 8, mark())
    line = mark()
    backwards = count_stairs(picture, 8, Mark(line.x1, line.y1, line.x0, line.y0))
    negative = count_stairs(255 - picture, 8, line)
    deep = count_stairs((picture.astype(np.uint16) << 2).astype(np.uint16), 10, line)
    assert backwards.jumps == negative.jumps == deep.jumps == found.jumps


def test_a_falling_edge_counts_alike() -> None:
    picture = np.ascontiguousarray(stairs_picture(540, SLOPE)[::-1])
    line = mark()
    found = count_stairs(picture, 8, Mark(line.x0, 719 - line.y0, line.x1, 719 - line.y1))
    assert found.size == pytest.approx(540, rel=0.015)


def test_a_smoothed_edge_has_no_steps() -> None:
    y, x = np.arange(720)[:, None], np.arange(1280)[None, :]
    cover = np.clip(y - 288 - SLOPE * x + 0.5, 0, 1)
    smooth = np.rint(180 - 120 * cover).astype(np.uint8)
    with pytest.raises(UsageError, match="edge must have at least 4 steps"):
        count_stairs(smooth, 8, mark())


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (Mark(200, 308, 1300, 418), "edge must lie inside the picture of 1280 x 720"),
        (Mark(200, 308, 210, 309), "edge must be at least 16 pixels long, got 11"),
        (Mark(200, 100, 700, 150), "edge must stand out along the mark"),
        (Mark(200, 308, 224, 310.4), "edge must have at least 4 steps along the mark"),
    ],
)
def test_marks_that_say_nothing(line: Mark, words: str) -> None:
    with pytest.raises(UsageError, match=words):
        count_stairs(stairs_picture(540, SLOPE), 8, line)


def test_marks_as_text() -> None:
    assert Mark.parse("1, 2.5,30,4") == Mark(1, 2.5, 30, 4)
    for text in ("1,2,3", "a,b,c,d", ""):
        with pytest.raises(UsageError, match="edge must be four numbers x0,y0,x1,y1"):
            Mark.parse(text)
