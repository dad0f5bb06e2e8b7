"""Compares what was detected in a capture with the truth about it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from demo.truth import Flip, Truth
from pacerail.record import TimingRecord, Verdict
from pacerail.scanout import flip_refreshes

SEEN_BLOCK_DIFFERENCE = 1.5
"""Code values: a frame that differs by less in every block cannot be asked for."""
ROW_TOLERANCE_SHARE = 2 / 1080
"""A tear row counts as found within two lines of a 1080 line picture."""
SAME_TEAR_SHARE = 1 / 60
"""A detected tear further away than this is another tear, and false."""


@dataclass
class Score:
    """Counts and errors over one or more clips."""

    found: int = 0
    """New refreshes called new."""
    false: int = 0
    missed: int = 0
    tears_true: int = 0
    """Tears that can be seen."""
    tears_found: int = 0
    tears_called: int = 0
    tears_right: int = 0
    """Called tears that are tears, seen or not."""
    row_errors: list[float] = field(default_factory=list)
    """Distance in lines of a 1080 line picture for every found tear."""
    frame_time_errors_ms: list[float] = field(default_factory=list)
    refreshes: int = 0
    uncertain: int = 0

    def add(self, other: Score) -> None:
        """Pool another clip's counts."""
        for name, value in vars(other).items():
            setattr(self, name, getattr(self, name) + value)

    @property
    def precision(self) -> float:
        """Share of called new frames that are new."""
        return self.found / (self.found + self.false) if self.found + self.false else 1.0

    @property
    def recall(self) -> float:
        """Share of new frames that were called."""
        return self.found / (self.found + self.missed) if self.found + self.missed else 1.0

    @property
    def f1(self) -> float:
        """Harmonic mean of precision and recall."""
        both = 2 * self.found + self.false + self.missed
        return 2 * self.found / both if both else 1.0

    @property
    def tear_precision(self) -> float:
        """Share of called tears that are tears."""
        return self.tears_right / self.tears_called if self.tears_called else 1.0

    @property
    def tear_recall(self) -> float:
        """Share of tears that can be seen that were called."""
        return self.tears_found / self.tears_true if self.tears_true else 1.0

    @property
    def rows_within_tolerance(self) -> float:
        """Share of found tears whose row is right to two lines of 1080."""
        if not self.row_errors:
            return 1.0
        return float(np.mean(np.array(self.row_errors) <= ROW_TOLERANCE_SHARE * 1080))

    @property
    def frame_time_error_ms(self) -> float:
        """Mean absolute error of the frame times between matched flips."""
        return float(np.mean(self.frame_time_errors_ms)) if self.frame_time_errors_ms else 0.0


def score_verdicts(called_new: set[int], truth: Truth) -> Score:
    """Score of a set of refreshes called new, whatever called them."""
    score = Score(refreshes=len(truth.verdict))
    judged = {
        i for i, verdict in enumerate(truth.verdict) if verdict in (Verdict.NEW, Verdict.HELD)
    }
    by_refresh: dict[int, list[Flip]] = {}
    for flip in truth.flips:
        asked = _where_it_shows(flip) if flip.refresh in by_refresh else flip
        if asked.refresh in judged:
            by_refresh.setdefault(asked.refresh, []).append(asked)
    left = called_new & judged
    excused: set[int] = set()
    # What cannot be seen at all takes only what is left over.
    for refresh, flips in sorted(
        by_refresh.items(), key=lambda item: (not _is_seen(item[1]), item[0])
    ):
        may_be_told_in = (refresh, refresh + 1) if _may_show_next(flips) else (refresh,)
        told_in = next((i for i in may_be_told_in if i in left), None)
        if told_in is not None:
            score.found += 1
            left.remove(told_in)
        elif not _is_seen(flips):
            excused.update((refresh, refresh + 1))
        else:
            score.missed += 1
    score.false = len(left - excused)
    return score


def _where_it_shows(flip: Flip) -> Flip:
    """A flip that comes after another in its refresh.

    If nothing of it shows there, it is a clean one of the next refresh.
    """
    if flip.shown_difference >= SEEN_BLOCK_DIFFERENCE:
        return flip
    return replace(
        flip,
        refresh=flip.refresh + 1,
        tear_row=0,
        seam_difference=0,
        shown_difference=flip.block_difference,
    )


def _is_seen(flips: list[Flip]) -> bool:
    return max(flip.block_difference for flip in flips) >= SEEN_BLOCK_DIFFERENCE


def _may_show_next(flips: list[Flip]) -> bool:
    """Whether all that can be seen of the frames may lie in the next refresh.

    So it is for a tear that cannot be seen, and where nothing below it differs.
    """
    return all(
        (flip.is_torn and not flip.tear_can_be_seen)
        or flip.shown_difference < SEEN_BLOCK_DIFFERENCE
        for flip in flips
    )


def score_record(record: TimingRecord, truth: Truth) -> Score:
    """Score of a timing record: verdicts, tears, frame times."""
    called_new = set(np.flatnonzero(record.verdict == Verdict.NEW).tolist())
    score = score_verdicts(called_new, truth)
    score.uncertain = int(record.uncertain.sum())
    rows = record.source.picture_height
    called = [
        (int(refresh), float(row))
        for refresh, row in zip(record.flip_refresh, record.tear_row, strict=True)
        if row > 0
    ]
    score.tears_called = len(called)
    torn = [flip for flip in truth.flips if flip.is_torn]
    for refresh, row in called:
        score.tears_right += any(
            flip.refresh == refresh and abs(flip.tear_row - row) <= SAME_TEAR_SHARE * rows
            for flip in torn
        )
    for flip in torn:
        errors = [abs(flip.tear_row - row) for refresh, row in called if refresh == flip.refresh]
        is_found = bool(errors) and min(errors) <= SAME_TEAR_SHARE * rows
        if is_found:
            score.row_errors.append(min(errors) / rows * 1080)
        if flip.tear_can_be_seen:
            score.tears_true += 1
            score.tears_found += is_found
    score.frame_time_errors_ms = _frame_time_errors_ms(record, truth)
    return score


def _frame_time_errors_ms(record: TimingRecord, truth: Truth) -> list[float]:
    """Errors of the frame times whose two flips were both found, with none between."""
    period_ms = 1000 / float(record.refresh_hz)
    measured = flip_refreshes(
        record.flip_refresh, record.flip_row, record.source.picture_height, record.scan_out
    )
    true = np.array([float(flip.time_s * truth.refresh_hz) for flip in truth.flips])
    if not len(measured) or not len(true):
        return []
    nearest = np.abs(true[:, None] - measured).argmin(axis=1)
    is_near = np.abs(true - measured[nearest]) < 0.5
    errors = []
    for first, second in pairwise(range(len(true))):
        follows = nearest[second] == nearest[first] + 1
        if is_near[first] and is_near[second] and follows:
            got = measured[nearest[second]] - measured[nearest[first]]
            errors.append(abs(got - (true[second] - true[first])) * period_ms)
    return errors
