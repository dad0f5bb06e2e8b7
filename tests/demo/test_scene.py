"""The scene is a pure function of time, and a fair test for who watches it."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray

from demo.looks import MERLE, WREN, Look
from demo.scene import DURATION_S, SHOTS, STORYBOARD, cue_at, scene_source, shot_source
from demo.simulator import PictureSource

WIDTH, HEIGHT = 320, 180
FRAME = Fraction(1, 60)


@cache
def scene(look: Look = MERLE) -> PictureSource:
    return scene_source(WIDTH, HEIGHT, look)


@cache
def of_shot(name: str) -> PictureSource:
    return shot_source(name, WIDTH, HEIGHT)


def green(name: str, shot_s: Fraction) -> NDArray[np.int16]:
    return of_shot(name)(shot_s)[..., 1].astype(np.int16)


def middle(name: str) -> Fraction:
    cue = next(cue for cue in STORYBOARD if cue.name == name)
    return (cue.start_s + cue.end_s) / 2


def test_the_storyboard_has_no_gaps_and_starts_anew() -> None:
    assert STORYBOARD[0].start_s == 0
    assert all(a.end_s == b.start_s for a, b in pairwise(STORYBOARD))
    assert cue_at(DURATION_S) is STORYBOARD[0]
    assert cue_at(STORYBOARD[3].start_s) is STORYBOARD[3]


@pytest.mark.parametrize("cue", STORYBOARD, ids=lambda cue: cue.name)
def test_pictures_are_whole_and_depend_on_nothing_but_time(cue) -> None:  # type: ignore[no-untyped-def]
    moment = (cue.start_s + cue.end_s) / 2
    picture = scene()(moment)
    assert picture.shape == (HEIGHT, WIDTH, 4)
    assert (picture[..., 3] == 255).all()
    scene()(moment + 1)
    again = scene()(moment)
    assert again is not picture
    assert (again == picture).all()


def test_a_fresh_scene_draws_the_same_pictures() -> None:
    assert (scene_source(WIDTH, HEIGHT)(Fraction(5)) == scene()(Fraction(5))).all()


def test_every_change_of_shot_is_a_cut() -> None:
    for cue in STORYBOARD[1:]:
        before, after = scene()(cue.start_s - FRAME), scene()(cue.start_s)
        change = np.abs(before[..., 1].astype(int) - after[..., 1]).mean()
        # The veil of the pause and the cut back are the softest.
        assert change > 8, cue.name


def test_the_looks_differ() -> None:
    merle, wren = scene(MERLE)(middle("glide")), scene(WREN)(middle("glide"))
    assert (merle != wren).any(axis=-1).mean() > 0.5
    detail = [np.abs(np.diff(p[100:, :, 1].astype(int), axis=1)).mean() for p in (merle, wren)]
    assert detail[1] < 0.85 * detail[0]


@pytest.mark.parametrize("name", ["glide", "dash", "arcade"])
def test_busy_shots_change_much_of_the_picture(name: str) -> None:
    difference = np.abs(green(name, Fraction(1)) - green(name, Fraction(1) + FRAME))
    blocks = difference[:176].reshape(22, 8, 40, 8).mean(axis=(1, 3))
    # The dusk sky stands still: half of the wide shots.
    assert (blocks > 1).mean() > 0.4


def test_the_dash_scrolls_fast_both_ways() -> None:
    # Best match of the roofs between two frames, as whole pixels.
    before, after = green("dash", Fraction(1, 5)), green("dash", Fraction(1, 5) + FRAME)
    patch = before[140:170, 100:220]
    shifts = {
        (dy, dx): np.abs(after[140 + dy : 170 + dy, 100 + dx : 220 + dx] - patch).mean()
        for dy in range(-4, 5)
        for dx in range(-12, 13)
    }
    dy, dx = min(shifts, key=shifts.__getitem__)
    # A sixth of the 1080-line size: 3 pixels here are 18 there.
    assert abs(dx) >= 3
    seconds = np.linspace(0, 2, 60)
    assert np.abs(np.gradient(82 * np.sin(2.6 * seconds), seconds)).max() / 60 > 3
    assert shifts[dy, dx] < 0.5 * shifts[0, 0]


def test_a_pause_holds_one_picture() -> None:
    assert (green("paused", Fraction(0)) == green("paused", Fraction(5, 7))).all()


def test_while_moored_only_small_things_move() -> None:
    changed = green("moored", Fraction(1)) != green("moored", Fraction(1) + FRAME)
    assert 0 < changed.mean() < 0.06
    moving = [
        (green("moored", Fraction(k, 30)) != green("moored", Fraction(k + 1, 30))).any()
        for k in range(20)
    ]
    assert all(moving)


def test_fog_moves_at_low_contrast() -> None:
    difference = np.abs(green("fog", Fraction(1)) - green("fog", Fraction(1) + Fraction(1, 30)))
    assert (difference > 0).mean() > 0.1
    assert np.percentile(difference, 99) < 12
    assert np.abs(np.diff(green("fog", Fraction(1)), axis=1)).mean() < 2


def test_loading_is_near_black_and_moves_in_steps() -> None:
    pictures = [green("loading", Fraction(k, 60)) for k in range(96)]
    assert pictures[0].mean() < 16
    steps = sum((a != b).any() for a, b in pairwise(pictures))
    assert 3 <= steps <= 12


def test_fades_start_and_end_in_black() -> None:
    assert scene()(Fraction(0))[..., :3].max() == 0
    assert scene()(DURATION_S - FRAME)[..., :3].max() == 0
    level = [scene()(Fraction(k, 20))[..., 1].mean() for k in range(4, 20)]
    assert all(a < b for a, b in pairwise(level))


def test_the_clock_ticks_once_a_second() -> None:
    corner = np.s_[4:18, 250:315]
    pictures = [green("glide", Fraction(k, 10))[corner] for k in range(1, 22)]
    white = [np.flatnonzero(picture > 215) for picture in pictures]
    ticks = sum(not np.array_equal(a, b) for a, b in pairwise(white))
    assert 2 <= ticks <= 3


@pytest.mark.parametrize("name", sorted(SHOTS))
def test_every_shot_can_run_for_long(name: str) -> None:
    assert of_shot(name)(Fraction(20)).shape == (HEIGHT, WIDTH, 4)
