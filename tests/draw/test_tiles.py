from fractions import Fraction

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from pacerail.draw.scale import Scale
from pacerail.draw.tiles import Pace, lay_tiles
from tests.draw.made_tracks import FAULT, FRAME, OPEN, STILL, frames, make_series

SCALE = Scale(Fraction(60), 12)

lengths = st.lists(
    st.floats(0.05, 40).map(lambda length: round(length, 3)), min_size=1, max_size=60
)


def test_an_even_pace_is_a_row_of_equal_squares() -> None:
    tiles = lay_tiles(make_series(frames(*[1] * 200)), SCALE)
    assert set(tiles.right - tiles.left) == {12}
    assert set(tiles.height) == {12}


def test_a_frame_held_twice_as_long_is_twice_as_wide_and_twice_as_high() -> None:
    tiles = lay_tiles(make_series(frames(1, 2, 1)), SCALE)
    assert list(tiles.right - tiles.left) == [12, 24, 12]
    assert list(tiles.height) == [12, 24, 12]


@given(lengths)
def test_tiles_fill_the_strip_without_gap_or_overlap(values: list[float]) -> None:
    series = make_series(frames(*values))
    tiles = lay_tiles(series, SCALE)
    assert tiles.left[0] == 0
    np.testing.assert_array_equal(tiles.left[1:], tiles.right[:-1])
    assert abs(int(tiles.right[-1]) - sum(values) * 12) <= 0.5 + 1e-6


@given(lengths)
def test_width_and_height_of_a_frame_differ_by_rounding_only(values: list[float]) -> None:
    tiles = lay_tiles(make_series(frames(*values)), SCALE)
    assert (abs(tiles.right - tiles.left - tiles.height) <= 1).all()


@given(lengths, st.integers(-50, 3000), st.integers(1, 600))
def test_between_finds_exactly_the_tiles_that_touch(
    values: list[float], start: int, length: int
) -> None:
    tiles = lay_tiles(make_series(frames(*values)), SCALE)
    found = set(tiles.between(start, start + length))
    touching = set(np.flatnonzero((tiles.right > start) & (tiles.left < start + length)))
    assert found == touching


def test_pace_steps_at_half_a_refresh_beyond_the_target_and_beyond_its_double() -> None:
    tiles = lay_tiles(make_series(frames(1, 1.49, 1.51, 2, 2.49, 2.51, 30)), SCALE)
    on, late, far = Pace.ON_PACE, Pace.LATE, Pace.FAR_LATE
    assert list(tiles.pace) == [on, on, late, late, late, far, far]


def test_pace_follows_the_target_of_the_series() -> None:
    tiles = lay_tiles(make_series(frames(1, 2, 3), target_fps=30.0), SCALE)
    assert list(tiles.pace) == [Pace.ON_PACE, Pace.ON_PACE, Pace.LATE]


def test_only_torn_frames_have_a_slit_where_the_screen_was_cut() -> None:
    spans = [(FRAME, 1, 0.0), (FRAME, 1, 0.25), (STILL, 40, 0.5), (FAULT, 4, 0.0), (OPEN, 1, 0.0)]
    slit = lay_tiles(make_series(spans), SCALE).slit
    np.testing.assert_array_equal(slit, [np.nan, 0.25, np.nan, np.nan, np.nan])


def test_a_track_of_another_rate_lies_at_the_same_seconds() -> None:
    slow = lay_tiles(make_series(frames(*[1] * 60), Fraction(60)), SCALE)
    fast = lay_tiles(make_series(frames(*[2] * 60), Fraction(120)), SCALE)
    np.testing.assert_array_equal(slow.left, fast.left)
    np.testing.assert_array_equal(slow.height, fast.height)
