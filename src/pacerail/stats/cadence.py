"""Cadence: for how many refreshes frames are held, and in what repeating pattern.

Only a synchronised program holds frames for whole refreshes, so cadence is told only
where few flips are torn. A pattern is told from runs of frames in which every hold
equals the hold one period earlier; what fits no pattern for long enough is irregular.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from pacerail.figure import CadenceRun, pattern_text
from pacerail.stats.segment import NotMeasurableError, Segment

# The longest cadence of a standard rate is the five holds of 25 or 50 in 60; six lets
# 1:1:1:1:1:2 show. Longer repetitions are not heard of as a pattern.
_LONGEST_PERIOD = 6
# Moments are rounded floats: half a second must be half a second wherever it lies.
TIE_S = 1e-9
# A pattern must hold for half a second: the still limit's sense of what a viewer notices.
_SHORTEST_RUN_S = 0.5 - TIE_S
# A lapse no longer than this does not end a run of one pattern.
_LONGEST_LAPSE_S = 0.25 + TIE_S
# An irregular stretch in which one hold fills this share of the time is an even pace with
# lapses: 60 a second with a late frame now and then. (Our choice.)
_EVEN_SHARE = 0.9
# More torn flips than this, and the program does not wait for the display.
_TORN_LIMIT = 0.1


def longest_hold(segment: Segment) -> int:
    """Most refreshes from one flip to the next."""
    return int(_holds(segment).max())


def hold_histogram(segment: Segment) -> str:
    """``hold x frames`` for every hold that occurs, as ``1 x 54; 2 x 3``."""
    return "; ".join(f"{hold} x {count}" for hold, count in hold_counts(segment).items())


def hold_counts(segment: Segment) -> dict[int, int]:
    """Frames held for each number of refreshes that occurs, the shortest first."""
    _check_synchronised(segment)
    holds, counts = np.unique(_holds(segment), return_counts=True)
    return dict(zip(holds.tolist(), counts.tolist(), strict=True))


def hold_pattern(segment: Segment) -> str:
    """The pattern that fills the most time of the segment."""
    return pattern_text(_main_pattern(segment)[0])


def hold_pattern_time_share(segment: Segment) -> float:
    """Share of the measured time that follows the main pattern."""
    return _main_pattern(segment)[1]


def cadence_runs(segment: Segment) -> tuple[CadenceRun, ...]:
    """The segment as runs of patterns, in order of time.

    A pattern of up to six holds counts from half a second on. Where one only slips or
    lapses for up to a quarter of a second, the run goes on and the lapse is counted.
    Between cuts only: no run reaches across a still span, a capture fault or a frame of
    unknown length.
    Raises NotMeasurableError where too many flips are torn or no frame is known.
    """
    _check_synchronised(segment)
    series = segment.series
    chosen = np.flatnonzero(segment.frames)
    holds = _holds(segment)
    runs: list[CadenceRun] = []
    for part in np.split(np.arange(len(chosen)), np.flatnonzero(np.diff(chosen) > 1) + 1):
        start_s, end_s = series.start_s[chosen[part]], series.end_s[chosen[part]]
        runs += _runs_without_cut(holds[part], start_s, end_s)
    return tuple(runs)


def _holds(segment: Segment) -> NDArray[np.int64]:
    """Refreshes from the flip of each frame of the segment to the next flip."""
    frames = np.flatnonzero(segment.frames)
    if not len(frames):
        raise NotMeasurableError("no frame of known length")
    refresh = segment.series.refresh
    return refresh[frames + 1] - refresh[frames]


def _check_synchronised(segment: Segment) -> None:
    flips, torn = int(segment.flips.sum()), int(segment.torn.sum())
    if torn > _TORN_LIMIT * flips:
        raise NotMeasurableError(
            f"{torn} of {flips} flips are torn, so frames are not held for whole refreshes"
        )


def _main_pattern(segment: Segment) -> tuple[tuple[int, ...], float]:
    """The pattern that most time follows, lapses left out, and the share of that time.

    Of patterns that fill as much, the first.
    """
    runs = cadence_runs(segment)
    following: dict[tuple[int, ...], float] = {}
    for run in runs:
        in_pattern = (run.end_s - run.start_s) * (1.0 - run.lapses / run.frames)
        following[run.pattern] = following.get(run.pattern, 0.0) + in_pattern
    longest_s = max(following.values())
    pattern = next(key for key, length_s in following.items() if length_s > longest_s - TIE_S)
    return pattern, following[pattern] / sum(run.end_s - run.start_s for run in runs)


def _runs_without_cut(
    holds: NDArray[np.int64], start_s: NDArray[np.float64], end_s: NDArray[np.float64]
) -> list[CadenceRun]:
    """Greedy from left to right: at each frame the period that carries furthest wins."""
    reach, period = _reach(holds)
    starts_a_run = end_s[reach - 1] - start_s >= _SHORTEST_RUN_S
    n = len(holds)
    next_start = np.where(starts_a_run, np.arange(n), n)
    next_start = np.minimum.accumulate(next_start[::-1])[::-1]
    runs: list[CadenceRun] = []

    def add(first: int, end: int, pattern: tuple[int, ...]) -> None:
        runs.append(CadenceRun(float(start_s[first]), float(end_s[end - 1]), end - first, pattern))

    position = 0
    while position < n:
        first = int(next_start[position])
        if first > position:
            add(position, first, ())
            length_s = end_s[first - 1] - start_s[position]
            if length_s > _LONGEST_LAPSE_S:
                runs[-1] = _as_even(runs[-1], holds[position:first])
        position = first
        if first < n:
            position = int(reach[first])
            add(first, position, _canonical(holds[first : first + period[first]]))
    return _without_lapses(runs)


def _reach(holds: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """For each frame how far the best period carries from it (end index), and that period.

    A period p carries from frame i to the first k >= i + p whose hold differs from the
    hold p earlier; it must repeat at least once in full. The smallest period wins ties.
    """
    n = len(holds)
    index = np.arange(n)
    best_reach, best_period = index + 1, np.ones(n, np.int64)
    for p in range(1, min(_LONGEST_PERIOD, n) + 1):
        mismatch = np.append(np.where(holds[p:] != holds[:-p], index[p:], n), n)
        next_mismatch = np.minimum.accumulate(mismatch[::-1])[::-1]
        reach = next_mismatch[np.minimum(index, n - p)]
        better = (reach > best_reach) & (reach - index >= 2 * p)
        best_reach = np.where(better, reach, best_reach)
        best_period = np.where(better, p, best_period)
    return best_reach, best_period


def _canonical(holds: NDArray[np.int64]) -> tuple[int, ...]:
    """One rotation for a pattern whatever frame it was met at.

    A balanced pattern starts with its longest hold, as film's 3:2 is written; a badly
    paced one with its shortest, as 1:3.
    """
    values = [int(hold) for hold in holds]
    rotations = [tuple(values[i:] + values[:i]) for i in range(len(values))]
    return max(rotations) if max(values) - min(values) <= 1 else min(rotations)


def _as_even(run: CadenceRun, holds: NDArray[np.int64]) -> CadenceRun:
    """An irregular run, as one of an even pace with lapses if that is what it nearly is."""
    values, counts = np.unique(holds, return_counts=True)
    fills = values * counts
    main = int(fills.argmax())
    if fills[main] < _EVEN_SHARE * fills.sum():
        return run
    return replace(run, pattern=(int(values[main]),), lapses=int(len(holds) - counts[main]))


def _without_lapses(runs: list[CadenceRun]) -> list[CadenceRun]:
    """Runs of one pattern joined where it only slipped or lapsed for a moment."""
    result: list[CadenceRun] = []
    for run in runs:
        if run.pattern and result and result[-1].pattern == run.pattern:
            # A pattern of one hold cannot slip: its lapses are counted already.
            slips = min(len(run.pattern) - 1, 1)
            run = _joined(result.pop(), run, frames_between=0, lapses=slips)
        elif len(result) >= 2 and result[-2].pattern == run.pattern and _is_lapse(result[-1]):
            lapse, before = result.pop(), result.pop()
            run = _joined(before, run, frames_between=lapse.frames, lapses=lapse.frames)
        result.append(run)
    return [
        replace(run, pattern=(), lapses=0)
        if run.lapses and run.end_s - run.start_s < _SHORTEST_RUN_S
        else run
        for run in result
    ]


def _is_lapse(run: CadenceRun) -> bool:
    return not run.pattern and run.end_s - run.start_s <= _LONGEST_LAPSE_S


def _joined(
    before: CadenceRun, after: CadenceRun, *, frames_between: int, lapses: int
) -> CadenceRun:
    return CadenceRun(
        before.start_s,
        after.end_s,
        before.frames + frames_between + after.frames,
        after.pattern,
        before.lapses + lapses + after.lapses,
    )
