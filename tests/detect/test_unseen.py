"""Flips whose tear cannot be seen."""

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from demo import pacing
from demo.encode import Encoding, write_capture
from demo.simulator import Display, Rgb, Simulation
from pacerail.detect.found import FoundFlips
from pacerail.detect.unseen import shown_next, unseen_rows
from pacerail.pipeline.measuring import measure
from tests.bench.scorer import score_record

ROWS, SKY, FOOT, PERIOD_ROWS = 1080, 400.0, 700.0, 1125.0


def flips(moment: NDArray[np.floating]) -> tuple[NDArray[np.int64], NDArray[np.floating]]:
    """Refresh and row of flips at moments in refreshes; those in blanking tear the last row."""
    refresh = np.floor(moment).astype(np.int64)
    return refresh, np.minimum((moment - refresh) * PERIOD_ROWS, ROWS - 1.0)


@given(st.floats(1.05, 1.95), st.floats(0, 1))
def test_an_even_pace_tells_where_they_fall(every: float, phase: float) -> None:
    refresh, row = flips(1 + phase + every * np.arange(80))
    seen = np.where(row < SKY, 0, row)
    found = unseen_rows(refresh, seen, np.full(80, SKY), np.zeros(80), PERIOD_ROWS)
    assert (found[seen > 0] == 0).all()
    assert ((found >= 0) & (found <= SKY)).all()
    told = found > 0
    np.testing.assert_allclose(found[told], row[told], atol=PERIOD_ROWS - ROWS)


def test_most_of_a_steady_program_is_told() -> None:
    refresh, row = flips(1.3 + 1.27 * np.arange(80))
    seen = np.where(row < SKY, 0, row)
    found = unseen_rows(refresh, seen, np.full(80, SKY), np.zeros(80), PERIOD_ROWS)
    in_sky = seen[3:-3] == 0
    assert in_sky.sum() > 20
    assert (found[3:-3] > 0)[in_sky].mean() > 0.95


def test_a_pace_that_swings_is_told_under_a_sky_of_half_the_height_and_more() -> None:
    every = 1.2 + 0.1 * np.sin(np.arange(80) / 9)
    refresh, row = flips(1.3 + np.cumsum(every))
    sky = 0.55 * ROWS
    seen = np.where(row < sky, 0, row)
    found = unseen_rows(refresh, seen, np.full(80, sky), np.zeros(80), PERIOD_ROWS)
    in_sky = seen[3:-3] == 0
    assert in_sky.sum() > 30
    assert (found[3:-3] > 0)[in_sky].mean() > 0.9
    assert np.abs(found - row)[found > 0].mean() < 0.02 * ROWS


def test_a_long_run_tells_on_where_no_tear_is_known_any_more() -> None:
    # Just below half the refresh rate: tears wander down the picture, and then into its sky.
    moment = 1.5 + 2.004 * np.arange(160)
    refresh = np.ceil(moment - ROWS / PERIOD_ROWS).astype(np.int64)  # in blanking: the next
    row = np.maximum((moment - refresh) * PERIOD_ROWS, 0)
    seen = np.where(row < SKY, 0, row)
    last = int(np.flatnonzero(seen)[-1])
    found = unseen_rows(refresh, seen, np.full(160, SKY), np.zeros(160), PERIOD_ROWS)
    assert 120 > last > 100
    assert (row[last + 1 :] > 0).sum() > 30
    np.testing.assert_allclose(found[last + 1 :], row[last + 1 :], atol=2)


@pytest.mark.parametrize("every", [1.0, 2.0, 1.2])
def test_frames_that_mostly_come_whole_are_left_whole(every: float) -> None:
    refresh = (1 + every * np.arange(80)).astype(np.int64)
    torn = np.arange(80) % 3 == 0
    found = unseen_rows(
        refresh, np.where(torn, 700.0, 0.0), np.full(80, SKY), np.zeros(80), PERIOD_ROWS
    )
    assert not found.any()


def test_an_uneven_pace_tells_nothing() -> None:
    steps = np.random.default_rng(2).uniform(0.7, 2.3, 80)
    refresh, row = flips(1 + np.cumsum(steps))
    seen = np.where(row < SKY, 0, row)
    assert not unseen_rows(refresh, seen, np.full(80, SKY), np.zeros(80), PERIOD_ROWS).any()


def test_a_frame_that_changes_from_the_top_on_has_no_unseen_tear() -> None:
    refresh, row = flips(1.3 + 1.27 * np.arange(80))
    seen = np.where(row < SKY, 0, row)
    assert not unseen_rows(refresh, seen, np.zeros(80), np.zeros(80), PERIOD_ROWS).any()


def test_too_few_flips_tell_nothing() -> None:
    for count in range(4):
        refresh, row = np.arange(count), np.full(count, 5.0)
        sky = np.full(count, SKY)
        assert not unseen_rows(refresh, row, sky, np.zeros(count), PERIOD_ROWS).any()


@given(st.floats(1.05, 1.95), st.floats(0, 1))
def test_an_even_pace_tells_which_began_in_a_still_foot(every: float, phase: float) -> None:
    refresh, row = flips(1 + phase + every * np.arange(80))
    is_below = row >= FOOT
    shown = np.where(is_below, refresh + 1, refresh)
    seen = np.where(is_below, 0, row)
    earliest = np.full(80, FOOT - PERIOD_ROWS)
    found = unseen_rows(shown, seen, np.zeros(80), earliest, PERIOD_ROWS)
    assert (found[seen > 0] == 0).all()
    assert ((found >= FOOT - PERIOD_ROWS) & (found <= 0)).all()
    told = found < -1
    assert is_below[told].all()
    np.testing.assert_allclose(
        found[told], (row - PERIOD_ROWS)[told], atol=PERIOD_ROWS - ROWS + 0.5
    )
    moment = shown + (seen + found) / PERIOD_ROWS
    assert (np.diff(moment) > 0).all()


def test_frames_that_were_not_found_do_not_push_a_flip_into_the_foot() -> None:
    # A frame every other refresh at one row; in the dark two of six are found.
    refresh = np.array([*range(1, 41, 2), 46, 52, *range(53, 93, 2)])
    row = np.full(len(refresh), 300.0)
    row[20:22] = 0
    earliest = np.full(len(row), FOOT - PERIOD_ROWS)
    found = unseen_rows(refresh, row, np.zeros(len(row)), earliest, PERIOD_ROWS)
    # Between the known ones they would come long before the foot is scanned.
    assert not found.any()


def test_a_flip_below_all_that_changes_is_first_shown_by_the_next_refresh() -> None:
    found = FoundFlips.of(np.array([2, 3, 5, 6, 8, 9]), np.array([900.0, 100, 900, 0, 600, 900]))
    end_row = np.full(10, FOOT)
    shown = shown_next(found, end_row, PERIOD_ROWS)
    # Not where the next refresh has a frame of its own from the top on, nor at the end.
    assert shown.place.tolist() == [3, 3, 5, 6, 8, 9]
    assert shown.row.tolist() == [0, 100, 900, 0, 600, 900]
    assert shown.midway.tolist() == [900 - PERIOD_ROWS, 0, 0, 0, 0, 0]
    # Where all changes nothing is below.
    same = shown_next(found, np.full(10, float(ROWS)), PERIOD_ROWS)
    assert same.place.tolist() == found.place.tolist()


@pytest.mark.parametrize("still", [slice(0, 70), slice(110, 180)])
def test_a_still_part_leaves_frame_times_even(tmp_path: Path, still: slice) -> None:
    texture = np.random.default_rng(4).integers(0, 256, (180, 900, 3), np.uint8)
    texture = texture.repeat(2, axis=0)[:180]
    texture[still] = 90

    def draw(t: Fraction) -> Rgb:
        left = int(t * 180)
        return texture[:, left : left + 320].copy()

    simulation = Simulation(
        draw, pacing.steady(48, Fraction(3), Fraction(-1, 100)), Display(Fraction(60), False), 180
    )
    truth = write_capture(
        tmp_path / "still.mp4", simulation, Encoding(options={"crf": "18"}, audio=False)
    )
    record = measure(tmp_path / "still.mp4")
    is_foot = still.start > 0
    assert ((record.unseen_row < 0) if is_foot else (record.unseen_row > 0)).sum() > 20
    assert any("tore where nothing shows it" in note for note in record.notes)
    score = score_record(record, truth)
    assert score.f1 == 1
    assert score.frame_time_error_ms < 0.3
    assert score.tear_precision > 0.98
