from collections.abc import Sequence
from fractions import Fraction

import pytest

from demo.truth import Flip, Truth
from pacerail.record import Verdict
from pacerail.scanout import scan_out_of_height
from tests.bench.scorer import score_record, score_verdicts
from tests.timing_records import record_of_flips

ROWS, REFRESHES = 1080, 40
SEEN, UNSEEN = 40.0, 0.5


def flip_at(refresh: int, row: int = 0, *, shown: float = SEEN, anywhere: float = SEEN) -> Flip:
    """A flip of whose frame its own refresh shows a difference of `shown`."""
    scan_out = scan_out_of_height(ROWS)
    within = Fraction(row * scan_out.active_lines, ROWS * scan_out.total_lines)
    return Flip(refresh, refresh, row, (refresh + within) / 60, anywhere, shown, SEEN)


def truth_of(flips: Sequence[Flip]) -> Truth:
    verdicts = [Verdict.HELD] * REFRESHES
    verdicts[0] = Verdict.FIRST
    for flip in flips:
        verdicts[flip.refresh] = Verdict.NEW
    return Truth(Fraction(60), ROWS, tuple(verdicts), tuple(flips))


FLIPS = [flip_at(refresh, (refresh * 97) % ROWS) for refresh in range(2, REFRESHES, 3)]


def test_the_truth_scores_one() -> None:
    rows = [flip.tear_row for flip in FLIPS]
    record = record_of_flips([flip.refresh for flip in FLIPS], REFRESHES, rows)
    score = score_record(record, truth_of(FLIPS))
    assert (score.f1, score.tear_precision, score.tear_recall) == (1, 1, 1)
    assert score.rows_within_tolerance == 1
    assert score.frame_time_error_ms == pytest.approx(0, abs=1e-9)


def test_wrong_answers_do_not() -> None:
    truth = truth_of(FLIPS)
    refreshes = [flip.refresh for flip in FLIPS]
    fewer = score_verdicts(set(refreshes[1:]), truth)
    assert (fewer.missed, fewer.false) == (1, 0)
    more = score_verdicts({*refreshes, 3}, truth)
    assert (more.missed, more.false) == (0, 1)
    late = score_verdicts({refresh + 1 for refresh in refreshes}, truth)
    assert late.f1 == 0
    nothing = score_verdicts(set(), truth)
    assert (nothing.recall, nothing.precision, nothing.f1) == (0, 1, 0)


def test_tears_in_the_wrong_place_are_false() -> None:
    refreshes = [flip.refresh for flip in FLIPS]
    rows = [(flip.tear_row + 200) % ROWS for flip in FLIPS]
    score = score_record(record_of_flips(refreshes, REFRESHES, rows), truth_of(FLIPS))
    assert score.f1 == 1
    assert (score.tear_precision, score.tear_recall) == (0, 0)


def test_a_frame_that_its_own_refresh_does_not_show_may_be_told_one_later() -> None:
    truth = truth_of([flip_at(5, 900, shown=UNSEEN), flip_at(20)])
    assert score_verdicts({5, 20}, truth).f1 == 1
    assert score_verdicts({6, 20}, truth).f1 == 1
    assert score_verdicts({20}, truth).missed == 1
    assert score_verdicts({5, 6, 20}, truth).false == 1


def test_a_second_frame_that_its_refresh_does_not_show_is_one_of_the_next() -> None:
    truth = truth_of([flip_at(5, 300), flip_at(5, 1050, shown=UNSEEN), flip_at(20)])
    assert score_verdicts({5, 6, 20}, truth).f1 == 1
    assert score_verdicts({5, 20}, truth).missed == 1
    assert score_verdicts({5, 6, 7, 20}, truth).false == 1
    at_the_end = truth_of([flip_at(REFRESHES - 1, 300), flip_at(REFRESHES - 1, 1050, shown=UNSEEN)])
    assert score_verdicts({REFRESHES - 1}, at_the_end).f1 == 1


def test_each_of_such_frames_is_asked_for() -> None:
    truth = truth_of([flip_at(5, 900, shown=UNSEEN), flip_at(6, 800, shown=UNSEEN)])
    assert score_verdicts({6, 7}, truth).f1 == 1
    assert score_verdicts({6}, truth).missed == 1


def test_a_frame_that_differs_nowhere_cannot_be_asked_for() -> None:
    truth = truth_of([flip_at(5, shown=UNSEEN, anywhere=UNSEEN), flip_at(20)])
    for called in ({20}, {5, 20}):
        score = score_verdicts(called, truth)
        assert (score.missed, score.false) == (0, 0)
    beside = truth_of([flip_at(5, shown=UNSEEN, anywhere=UNSEEN), flip_at(6)])
    assert score_verdicts({6}, beside).f1 == 1
