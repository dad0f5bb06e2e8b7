"""The corpus says what it makes, and makes it once."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from pacerail.record import Verdict
from tests.bench.contents import CONTENTS, source_of
from tests.bench.corpus import CLIPS, OFF, QP0, TIMINGS, Clip, Grade, make_clip, simulation_of
from tests.bench.film import frames

SMALL = Clip(Grade.SHARP, "ledges", "steady 40", OFF, QP0, size=(96, 64), refreshes=20)


def test_names_are_unique() -> None:
    assert len({clip.name for clip in CLIPS}) == len(CLIPS)


def test_every_clip_names_a_content_and_a_timing_that_exist() -> None:
    for clip in CLIPS:
        assert clip.content in CONTENTS
        assert clip.timing in TIMINGS
        assert 150 <= clip.refreshes <= 440


def test_every_grade_content_and_timing_is_used() -> None:
    assert {clip.grade for clip in CLIPS} == set(Grade)
    assert {clip.timing for clip in CLIPS} == set(TIMINGS)
    # The pause is seen within the scene.
    assert {clip.content for clip in CLIPS} == set(CONTENTS) - {"paused", "arrival"}


@pytest.mark.parametrize("name", sorted(TIMINGS))
def test_timings_ascend_and_cover_the_clip(name: str) -> None:
    flips = TIMINGS[name](Fraction(4), Fraction(60), 5)
    assert flips[0] <= 0
    assert all(a < b for a, b in pairwise(flips))
    # The longest gap that any of them plans within the first four seconds is 1.2 seconds.
    assert 4 - flips[-1] <= Fraction(1, 2)
    assert max(b - a for a, b in pairwise(flips)) < Fraction(13, 10)


@pytest.mark.parametrize("name", sorted(CONTENTS))
def test_contents_are_pure_functions_of_program_time(name: str) -> None:
    source = source_of(name, 128, 72)
    first = source(Fraction(2))
    assert first.shape[:2] == (72, 128)
    assert first.dtype == np.uint8
    source(Fraction(3))
    again = source(Fraction(2))
    assert again is not first
    assert (again == first).all()


def test_films_leave_out_their_repeated_frames() -> None:
    film = frames("bigbuckbunny", 200, 320, 180)
    assert len(film) == 127
    differences = [np.abs(a.astype(int) - b).mean() for a, b in pairwise(film)]
    assert min(differences) > 0.1


def test_a_clip_is_made_once(tmp_path: Path) -> None:
    folder = tmp_path / "cache"
    made = make_clip(SMALL, folder)
    assert made.truth.verdict.count(Verdict.NEW) > 5
    before = made.path.stat().st_mtime_ns
    again = make_clip(SMALL, folder)
    assert again.path == made.path
    assert again.path.stat().st_mtime_ns == before
    assert again.truth == made.truth


def test_a_changed_description_is_another_clip() -> None:
    assert replace(SMALL, refreshes=21).name != SMALL.name
    assert replace(SMALL, encoding=replace(QP0, noise_sigma=1.0)).name != SMALL.name


def test_frame_by_frame_clips_step_through_the_film() -> None:
    clip = replace(SMALL, content="film", frame_by_frame=True)
    program_s = simulation_of(clip).program_s
    assert program_s is not None
    assert {b - a for a, b in pairwise(program_s)} == {Fraction(1, 25)}
