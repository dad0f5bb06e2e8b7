import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from pacerail.detect.alternation import parted_by_turns
from pacerail.detect.thresholds import change_thresholds

Floats = NDArray[np.float64]


def labels(
    change: Floats, is_intra: NDArray[np.bool_] | None = None, *, is_lossy: bool = False
) -> NDArray[np.bool_]:
    """Which refreshes of one band are told to have changed."""
    compared = np.ones(len(change), bool)
    compared[0] = False
    intra = np.zeros(len(change), bool) if is_intra is None else is_intra
    octaves = np.log2(change)[:, None]
    found = change_thresholds(octaves, compared, intra, np.zeros_like(intra), is_lossy=is_lossy)
    result: NDArray[np.bool_] = (octaves > found.threshold)[:, 0] & compared
    return result


def series(
    is_new: NDArray[np.bool_],
    motion: Floats | float,
    noise: Floats | float,
    seed: int = 1,
) -> Floats:
    """Changes around the two levels, each scattered by a fifth."""
    random = np.random.default_rng(seed)
    return np.where(is_new, motion, noise) * random.lognormal(0, 0.2, len(is_new))


@pytest.mark.parametrize("every", [2, 3, 4, 7])
def test_regular_frames_are_found(every: int) -> None:
    is_new = np.arange(300) % every == 1
    np.testing.assert_array_equal(labels(series(is_new, 40, 2)), is_new)


def test_levels_may_drift_past_each_other() -> None:
    # The noise of the busy end is louder than the motion of the quiet one.
    is_new = np.arange(600) % 2 == 1
    scale = np.geomspace(1, 6, 600)
    np.testing.assert_array_equal(labels(series(is_new, 8 * scale, scale)), is_new)


def test_a_single_held_refresh_is_found_among_frames() -> None:
    is_new = np.arange(200) > 0
    is_new[90] = False
    np.testing.assert_array_equal(labels(series(is_new, 20, 2.5)), is_new)


def test_a_long_pause_is_held_throughout() -> None:
    is_new = np.arange(900) % 2 == 1
    is_new[300:700] = False
    np.testing.assert_array_equal(labels(series(is_new, 30, 1)), is_new)


def test_motion_that_swells_and_fades_is_not_taken_for_noise() -> None:
    time = np.arange(400)
    motion = 40 * 2 ** (-2.4 * np.exp(-(((time - 200) / 40) ** 2)))
    is_new = time > 0
    np.testing.assert_array_equal(labels(series(is_new, motion, 1)), is_new)


def test_unsteady_motion_alone_is_one_cluster() -> None:
    random = np.random.default_rng(4)
    change = 8 * random.lognormal(0, 0.45, 300)
    assert labels(change)[1:].all()


def test_an_intra_picture_may_be_noisier() -> None:
    is_new = np.arange(300) % 3 == 1
    intra = np.arange(300) % 60 == 30
    assert not (is_new & intra).any()
    change = series(is_new, 30, 2) * np.where(intra, 2.5, 1)
    np.testing.assert_array_equal(labels(change, intra), is_new)


@pytest.mark.parametrize("before", [0, 3, 5])
def test_coding_around_an_intra_picture_of_a_held_screen_is_no_frame(before: int) -> None:
    # Frames at half the refresh rate, four seconds of nothing, frames again.
    refresh = np.arange(480)
    pauses = (refresh >= 120) & (refresh < 360)
    is_new = (refresh % 2 == 1) & ~pauses
    change = np.where(pauses, 0.02, series(is_new, 80, 2.5))
    intra = refresh % 60 == 0
    for keyframe in range(180, 360, 60):
        change[keyframe - before : keyframe + 3] = 2.5
    np.testing.assert_array_equal(labels(change, intra, is_lossy=True), is_new)
    # What moves besides is a frame: more there, or as little as that elsewhere.
    for place, size in ((240, 60.0), (271, 2.5)):
        change[place], is_new[place] = size, True
    np.testing.assert_array_equal(labels(change, intra, is_lossy=True), is_new)


def test_where_every_picture_is_intra_none_is_noisier() -> None:
    is_new = np.arange(200) % 2 == 1
    change = np.where(is_new, 1.3, 0.3)
    all_intra = labels(change, np.ones(200, bool), is_lossy=True)
    np.testing.assert_array_equal(all_intra, labels(change, is_lossy=True))
    np.testing.assert_array_equal(all_intra, is_new)


def test_exact_repeats_make_any_change_a_frame() -> None:
    is_new = np.arange(200) % 2 == 1
    change = np.where(is_new, 0.2, 0.02)
    np.testing.assert_array_equal(labels(change), is_new)


@settings(max_examples=25)
@given(st.integers(0, 10**6), st.integers(1, 60))
def test_what_comes_long_before_changes_nothing(seed: int, shift: int) -> None:
    # Frame by frame the same, later in the capture.
    is_new = np.random.default_rng(seed).random(200) < 0.6
    is_new[0] = False
    change = series(is_new, 30, 1.5, seed)
    before = series(np.arange(shift) % 2 == 1, 30, 1.5, seed + 1)
    later = labels(np.concatenate([before, change]))[shift:]
    np.testing.assert_array_equal(later[1:], labels(change)[1:])


def test_nothing_compared_gives_thresholds_all_the_same() -> None:
    nothing = np.zeros(4, bool)
    found = change_thresholds(np.zeros((4, 1)), nothing, nothing, nothing)
    assert np.isfinite(found.threshold).all()
    assert found.separation == 0


def test_a_change_above_the_ceiling_is_motion_whatever_lies_beside_it() -> None:
    # Slow motion under faster motion, twice in five refreshes: nothing is held.
    is_fast = np.isin(np.arange(300) % 5, (1, 3))
    octaves = np.log2(series(is_fast, 100, 12))[:, None]
    compared, intra = np.arange(300) > 0, np.zeros(300, bool)
    assert (octaves < change_thresholds(octaves, compared, intra, intra).threshold).mean() > 0.3
    found = change_thresholds(octaves, compared, intra, intra, np.full(300, np.log2(3.0)))
    assert (octaves > found.threshold).all()


def test_a_frame_every_second_refresh_is_told_by_its_pattern() -> None:
    # Coarse coding leaves less than an octave between what is new and what is held.
    rng = np.random.default_rng(3)
    is_new = np.arange(300) % 2 == 0
    octaves = np.where(is_new, 4.2, 3.3)[:, None] + rng.uniform(-0.35, 0.35, (300, 1))
    compared, intra = np.arange(300) > 0, np.zeros(300, bool)
    found = change_thresholds(octaves, compared, intra, intra, is_lossy=True)
    assert ((octaves > found.threshold)[1:, 0] == is_new[1:]).mean() > 0.95
    # Where B pictures alternate with others, that explains it.
    found = change_thresholds(octaves, compared, intra, is_new, is_lossy=True)
    assert (octaves > found.threshold).all()
    # The same changes in another order are those of unsteady motion.
    rng.shuffle(octaves)
    found = change_thresholds(octaves, compared, intra, intra, is_lossy=True)
    assert (octaves > found.threshold).all()


def test_faint_frames_every_second_refresh_are_found_beside_large_ones() -> None:
    # A bar creeps on for a while; then the scene that it waited for moves.
    is_new, is_faint = np.arange(300) % 2 == 1, np.arange(300) < 150
    change = series(is_new, np.where(is_faint, 3, 60), np.where(is_faint, 1, 2.5))
    np.testing.assert_array_equal(labels(change, is_lossy=True), is_new)


def test_a_frame_that_changes_little_is_told_by_the_pace_of_those_around() -> None:
    # Every second refresh, but for a stall; for a while next to nothing moves.
    refresh = np.arange(300)
    is_new = (refresh % 2 == 1) & ~((refresh >= 200) & (refresh < 206))
    change = series(is_new, 90, 6, seed=4)
    is_slow = (refresh >= 120) & (refresh < 134)
    change[is_slow] = np.where(is_new, 10, 6)[is_slow]
    change[202] = change[[201, 203]].max() * 1.1
    np.testing.assert_array_equal(labels(change, is_lossy=True), is_new)
    # Far below what is noise elsewhere the pace tells nothing.
    change[is_slow] = np.where(is_new, 7, 6)[is_slow]
    assert not labels(change, is_lossy=True)[is_slow].any()


@given(st.integers(0, 2**32 - 1), st.floats(-3, 6), st.floats(1.1, 6))
def test_changes_parted_by_turns_are_told_whatever_their_size(
    seed: int, lower: float, step: float
) -> None:
    octaves = lower + np.random.default_rng(seed).uniform(-0.02, 0.02, (40, 3))
    octaves[1::2] += step
    compared, never = np.arange(40) > 0, np.zeros(40, bool)
    is_upper = np.broadcast_to((np.arange(40) % 2 == 1)[:, None], octaves.shape)
    np.testing.assert_array_equal(parted_by_turns(octaves, compared, never), is_upper)
    # A pattern that the kinds of pictures follow tells nothing.
    assert not parted_by_turns(octaves, np.ones(40, bool), is_upper[:, 0]).any()
