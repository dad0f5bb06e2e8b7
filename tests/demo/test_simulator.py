"""Laws of the scan-out simulator, and values from display standards."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from demo import pacing
from demo.simulator import Display, Rgb, Simulation, scan
from demo.truth import Truth
from pacerail.record import Verdict
from pacerail.scanout import ScanOut, scan_out_of_height

ROWS, COLUMNS = 48, 16
SYNC_OFF = Display(Fraction(60), sync=False)
SYNC_ON = Display(Fraction(60), sync=True)


def numbered(program_s: Fraction) -> Rgb:
    """A flat picture that says which millisecond it shows, so that frames can be told apart."""
    number = round(program_s * 1000)
    return np.full((ROWS, COLUMNS, 3), (number % 251, number // 251 % 251, 7), np.uint8)


def run(
    flip_s: list[Fraction], display: Display, refreshes: int, **more: object
) -> tuple[list[Rgb], Truth]:
    simulation = Simulation(numbered, flip_s, display, refreshes, **more)  # type: ignore[arg-type]
    pictures = [picture.rgb for picture in simulation.pictures()]
    return pictures, simulation.truth


flips_in_order = st.lists(st.integers(1, 400), min_size=1, max_size=40, unique=True).map(
    lambda moments: [Fraction(0)] + [Fraction(moment, 1000) for moment in sorted(moments)]
)


@given(flips_in_order, st.sampled_from([Fraction(60), Fraction(60000, 1001), Fraction(50)]))
@settings(max_examples=60, deadline=None)
def test_every_row_shows_the_frame_that_was_current_when_it_was_scanned(
    flip_s: list[Fraction], refresh_hz: Fraction
) -> None:
    pictures, _ = run(flip_s, Display(refresh_hz, sync=False), 20)
    # 24/25 of the period is active in every CTA-861 mode from 720 lines up.
    for refresh in range(1, 20):
        for row in range(ROWS):
            scanned_s = (refresh + Fraction(row, ROWS) * Fraction(24, 25)) / refresh_hz
            current = max(flip for flip in flip_s if flip <= scanned_s)
            assert (pictures[refresh][row] == numbered(current)[0]).all(), (refresh, row)


@given(flips_in_order)
@settings(max_examples=60, deadline=None)
def test_with_sync_on_a_refresh_shows_one_whole_frame(flip_s: list[Fraction]) -> None:
    pictures, truth = run(flip_s, SYNC_ON, 20)
    for refresh in range(1, 20):
        current = max(flip for flip in flip_s if flip <= Fraction(refresh, 60))
        assert (pictures[refresh] == numbered(current)).all()
    assert all(flip.tear_row == 0 and (flip.time_s * 60).denominator == 1 for flip in truth.flips)


@given(flips_in_order, st.booleans())
@settings(max_examples=60, deadline=None)
def test_truth_agrees_with_the_pictures(flip_s: list[Fraction], sync: bool) -> None:
    pictures, truth = run(flip_s, Display(Fraction(60), sync), 20)
    assert len(truth.verdict) == 20
    assert truth.verdict[0] is Verdict.FIRST
    flipped = {flip.refresh for flip in truth.flips}
    for refresh in range(1, 20):
        assert (truth.verdict[refresh] is Verdict.NEW) == (refresh in flipped)
    # Walking down all pictures row by row meets a change of frame exactly at the flips.
    seen = np.concatenate([picture[:, 0] for picture in pictures]).astype(int)
    changes = np.flatnonzero((np.diff(seen, axis=0) != 0).any(axis=1)) + 1
    assert changes.tolist() == [flip.refresh * ROWS + flip.tear_row for flip in truth.flips]
    # Each change shows the frame that the truth names.
    for flip in truth.flips:
        assert (pictures[flip.refresh][int(flip.tear_row)] == numbered(flip_s[flip.frame])[0]).all()


@given(flips_in_order)
@settings(max_examples=40, deadline=None)
def test_flip_times_follow_from_rows_and_stay_within_a_line_of_what_was_asked(
    flip_s: list[Fraction],
) -> None:
    _, truth = run(flip_s, SYNC_OFF, 20)
    line_s = Fraction(1, 60) * Fraction(24, 25) / ROWS
    blanking_s = Fraction(1, 60) / 25
    for flip in truth.flips:
        expected = (flip.refresh + Fraction(flip.tear_row) / ROWS * Fraction(24, 25)) / 60
        assert flip.time_s == expected
        late_s = flip.time_s - flip_s[flip.frame]
        assert 0 <= late_s < (line_s if flip.is_torn else blanking_s + line_s)


# Row -> milliseconds into the refresh, for modes of CTA-861 and VESA CVT-RB; line counts
# read in the Linux kernel's v4l2-dv-timings.h and drm_edid.c, times are arithmetic.
SCAN_TIMES = [
    (1080, 1125, Fraction(60), 540, 8.000000),
    (1080, 1125, Fraction(60), 1079, 15.985185),
    (1080, 1125, Fraction(60000, 1001), 540, 8.008000),
    (720, 750, Fraction(60), 360, 8.000000),
    (2160, 2250, Fraction(60), 2159, 15.992593),
    (1440, 1481, Fraction(241_500_000, 2720 * 1481), 720, 8.109317),
]


@pytest.mark.parametrize(("rows", "total", "refresh_hz", "row", "milliseconds"), SCAN_TIMES)
def test_rows_are_scanned_at_the_times_of_the_standards(
    rows: int, total: int, refresh_hz: Fraction, row: int, milliseconds: float
) -> None:
    scan_out = scan_out_of_height(rows)
    assert scan_out == ScanOut(rows, total)

    def flat(program_s: Fraction) -> Rgb:
        return np.full((rows, 8, 3), 40 if program_s == 0 else 200, np.uint8)

    flip_s = 3 / refresh_hz + Fraction(row, total) / refresh_hz
    simulation = Simulation(flat, [Fraction(0), flip_s], Display(refresh_hz, False), 6)
    pictures = [picture.rgb for picture in simulation.pictures()]
    (flip,) = simulation.truth.flips
    assert (flip.refresh, flip.tear_row) == (3, row)
    # The table is rounded to nanoseconds.
    assert float((flip.time_s - 3 / refresh_hz) * 1000) == pytest.approx(milliseconds, abs=1e-6)
    assert (pictures[3][:row] == 40).all()
    assert (pictures[3][row:] == 200).all()


def test_blanking_hides_four_percent_of_random_flips() -> None:
    # CTA-861 modes scan picture during 24/25 of a refresh, so 10,000 flips at random
    # phases leave 9,600 seams give or take 3 sigma = 59.
    rng = np.random.default_rng(20)
    phases = rng.integers(0, 10**9, 10_000).tolist()
    flip_s = [Fraction(0)] + [
        (k + 1 + Fraction(phase, 10**9)) / 60 for k, phase in enumerate(phases)
    ]
    stripes = scan(flip_s, SYNC_OFF, 1080, 10_002, scan_out_of_height(1080))
    assert abs(sum(len(stripe) > 1 for stripe in stripes) - 9_600) <= 59


def test_successive_tears_are_a_period_and_the_rows_between_them_apart() -> None:
    flip_s = [Fraction(0), Fraction(20, 1000), Fraction(41, 1000)]
    _, truth = run(flip_s, SYNC_OFF, 5)
    first, second = truth.flips
    assert (first.refresh, second.refresh) == (1, 2)
    line_s = Fraction(1, 60) * Fraction(24, 25) / ROWS
    between = Fraction(1, 60) + Fraction(second.tear_row - first.tear_row) * line_s
    assert second.time_s - first.time_s == between


# Hold sequences of a steady rate shown at 60 Hz: measured with FFmpeg's fps filter, whose
# rounding mode shifts only where the sequence starts.
CADENCES = {
    24: [3, 2],
    25: [2, 3, 2, 3, 2],
    30: [2],
    40: [2, 1],
    45: [1, 2, 1],
    48: [1, 2, 1, 1],
    50: [1, 1, 2, 1, 1],
}


@pytest.mark.parametrize(("fps", "holds"), CADENCES.items())
def test_cadences_into_60_hz(fps: int, holds: list[int]) -> None:
    _, truth = run(pacing.steady(fps, 2), SYNC_ON, 120)
    shown = np.diff([flip.refresh for flip in truth.flips]).tolist()
    rotations = [holds[k:] + holds[:k] for k in range(len(holds))]
    repeats = math.ceil(len(shown) / len(holds))
    assert shown in [(rotation * repeats)[: len(shown)] for rotation in rotations]


def test_frames_that_no_row_ever_shows_are_not_in_the_truth() -> None:
    in_one_blanking = [Fraction(32_900, 10**6), Fraction(33_200, 10**6)]
    pictures, truth = run([Fraction(0), *in_one_blanking], SYNC_OFF, 4)
    assert [(flip.frame, flip.refresh, flip.tear_row) for flip in truth.flips] == [(2, 2, 0)]
    with_sync, synced = run([Fraction(0), Fraction(18, 1000), Fraction(30, 1000)], SYNC_ON, 4)
    assert [(flip.frame, flip.refresh) for flip in synced.flips] == [(2, 2)]
    assert len(pictures) == len(with_sync) == 4


def test_several_flips_in_one_refresh_leave_several_tears() -> None:
    flip_s = [Fraction(0), Fraction(19, 1000), Fraction(23, 1000), Fraction(29, 1000)]
    _, truth = run(flip_s, SYNC_OFF, 4)
    assert [flip.refresh for flip in truth.flips] == [1, 1, 1]
    assert [flip.frame for flip in truth.flips] == [1, 2, 3]
    assert truth.verdict == (Verdict.FIRST, Verdict.NEW, Verdict.HELD, Verdict.HELD)


def test_a_frame_that_looks_like_the_one_before_is_no_flip() -> None:
    def stands_still_until_half_a_second(program_s: Fraction) -> Rgb:
        return numbered(max(program_s, Fraction(1, 2)))

    flip_s = pacing.steady(30, 1)
    simulation = Simulation(stands_still_until_half_a_second, flip_s, SYNC_ON, 60)
    arrays = {id(picture.rgb) for picture in simulation.pictures()}
    assert [flip.frame for flip in simulation.truth.flips] == list(range(16, 30))
    assert len(arrays) <= 15


def test_program_time_can_run_apart_from_flip_time() -> None:
    flip_s = [Fraction(0), Fraction(1, 30)]
    pictures, _ = run(flip_s, SYNC_ON, 4, program_s=[Fraction(3), Fraction(4)])
    assert (pictures[0] == numbered(Fraction(3))).all()
    assert (pictures[3] == numbered(Fraction(4))).all()


def test_a_dropped_refresh_leaves_a_gap_and_a_new_first() -> None:
    flip_s = pacing.steady(60, 1)
    simulation = Simulation(numbered, flip_s, SYNC_ON, 10, dropped={4, 5})
    assert [picture.refresh for picture in simulation.pictures()] == [0, 1, 2, 3, 6, 7, 8, 9]
    verdict = simulation.truth.verdict
    assert [k for k in range(10) if verdict[k] is Verdict.FAULT] == [4, 5]
    assert [k for k in range(10) if verdict[k] is Verdict.FIRST] == [0, 6]
    assert [flip.refresh for flip in simulation.truth.flips] == [1, 2, 3, 7, 8, 9]


def test_a_repeated_refresh_shows_its_flip_one_refresh_later() -> None:
    flip_s = [Fraction(0), Fraction(2, 60), Fraction(6, 60)]
    pictures, truth = run(flip_s, SYNC_ON, 9, repeated={2})
    assert pictures[2] is pictures[1]
    assert [flip.refresh for flip in truth.flips] == [3, 6]


def test_a_torn_picture_can_be_repeated() -> None:
    flip_s = [Fraction(0), Fraction(40, 1000), Fraction(56, 1000)]
    pictures, truth = run(flip_s, SYNC_OFF, 6, repeated={3})
    assert pictures[3] is pictures[2]
    first, second = truth.flips
    assert (first.refresh, first.is_torn) == (2, True)
    # The recorder missed the second flip's own refresh: it shows whole in the next one.
    assert (second.refresh, second.tear_row) == (4, 0)


def test_flip_times_must_ascend_from_the_start() -> None:
    for flip_s in ([], [Fraction(1, 60)], [Fraction(0), Fraction(0)]):
        with pytest.raises(ValueError, match="ascend"):
            run(flip_s, SYNC_ON, 4)


def test_truth_is_not_known_before_the_end() -> None:
    simulation = Simulation(numbered, [Fraction(0)], SYNC_ON, 4)
    next(simulation.pictures())
    with pytest.raises(RuntimeError, match="all pictures"):
        _ = simulation.truth


def test_a_tear_can_be_seen_only_where_both_sides_differ() -> None:
    def lower_half_changes(program_s: Fraction) -> Rgb:
        picture = np.full((ROWS, COLUMNS, 3), 60, np.uint8)
        picture[ROWS // 2 :] += 0 if program_s == 0 else 50
        return picture

    seen = {}
    for row in (10, ROWS // 2, 40):
        flip_s = [Fraction(0), (1 + Fraction(row, ROWS) * Fraction(24, 25)) / 60]
        simulation = Simulation(lower_half_changes, flip_s, SYNC_OFF, 3)
        assert sum(1 for _ in simulation.pictures()) == 3
        (flip,) = simulation.truth.flips
        assert flip.tear_row == row
        assert flip.block_difference == 50
        seen[row] = flip.tear_can_be_seen
    assert seen == {10: False, ROWS // 2: False, 40: True}


def test_a_refresh_shows_what_differs_below_its_tear() -> None:
    def a_lamp_is_lit(program_s: Fraction) -> Rgb:
        picture = np.full((ROWS, COLUMNS, 3), 60, np.uint8)
        picture[8:16, 8:16] += 0 if program_s == 0 else 50
        return picture

    shown = []
    for row in (8, 24, ROWS - 4):
        flip_s = [Fraction(0), (1 + Fraction(row, ROWS) * Fraction(24, 25)) / 60]
        simulation = Simulation(a_lamp_is_lit, flip_s, SYNC_OFF, 3)
        assert sum(1 for _ in simulation.pictures()) == 3
        (flip,) = simulation.truth.flips
        assert (flip.tear_row, flip.block_difference) == (row, 50)
        shown.append(flip.shown_difference)
    assert shown == [50, 0, 0]


def test_truth_survives_a_file_and_a_resize(tmp_path) -> None:  # type: ignore[no-untyped-def]
    _, truth = run(pacing.steady(Fraction(47), 1), Display(Fraction(60000, 1001), False), 30)
    path = tmp_path / "capture.truth.json"
    truth.save(path)
    assert Truth.load(path) == truth
    larger = truth.resized(2 * ROWS)
    assert [flip.tear_row for flip in larger.flips] == [2 * flip.tear_row for flip in truth.flips]
    assert [flip.time_s for flip in larger.flips] == [flip.time_s for flip in truth.flips]
