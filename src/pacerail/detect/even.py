"""Flips that are to be expected where most keep an even pace.

Where a tear can hardly be seen the rows alone may place it wrongly, or miss the flip. A program
that keeps a frame rate flips when its pace says; so where most flips lie on one grid in time,
those that would are given some credit. It is too little to move a flip that clearly comes late.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacerail.detect.flips import Candidates
from pacerail.detect.grid import FEWEST_SEAMS, SLOWEST, Pace, Seams, circled, fitted

SHORTEST, LONGEST = 45, 240
"""Refreshes in which a pace is looked for, the most first: many flips tell it surely, but one that
drifts keeps to no grid for long."""
SLOWEST_EVEN = 0.3
"""Flips per refresh."""
EVEN_SHARE = 0.4
"""Share of the flips, and of those that the pace would give, that lie on its grid. Of 189
spans at frame times that jitter by half and more two come to as much, and none of a second."""
MOST_FLIPS = 1.6
"""Flips for each that a pace would give: with twice as many it is half the true one."""
NEAR = 0.0125
"""Periods by which a flip may lie off the grid."""
CREDIT = 6.5
"""In the units of the evidence: less than what two bands say at the most, and with the next less
than what parts a tear that nothing shows from a clean flip."""
NAMED = 0.4
"""The same for the very row that a pace names: it errs less than one that only the bands tell."""
BETTER_APART = 0.2
"""What the share of two halves with paces of their own must have over that of the whole."""
LEAST_APART = 0.1
"""Periods between two flips. With credit for both, a tear near the foot of the picture and a flip
in the blanking after it could stand for the same one."""
LEAST_COST = 1.0
"""Cost that is left of a flip with credit: without any evidence there is none."""


@dataclass(frozen=True)
class _Span:
    """Half-open places, their pace, and the share of flips that keep it."""

    first: int
    end: int
    pace: Pace
    share: float


def even_paces(
    moment: NDArray[np.float64], first: int, end: int, is_known: NDArray[np.bool_] | None = None
) -> list[tuple[int, int, Pace]]:
    """Half-open places without overlap in which most flips keep an even pace, and that pace.

    moment : (m,) of the flips, in refreshes, ascending.
    is_known : (m,) False where the moment is known to a refresh only; all are known if not given.
    """
    if is_known is None:
        is_known = np.ones(len(moment), bool)
    return [(span.first, span.end, span.pace) for span in _spans(moment, is_known, first, end)]


def _spans(
    moment: NDArray[np.float64], is_known: NDArray[np.bool_], first: int, end: int
) -> list[_Span]:
    """The whole, or its two halves where those keep paces of their own better."""
    halves: list[_Span] = []
    if end - first >= 2 * SHORTEST:
        middle = (first + end) // 2
        halves = _spans(moment, is_known, first, middle) + _spans(moment, is_known, middle, end)
    whole = _span(moment, is_known, first, end) if end - first <= LONGEST else None
    if whole is None or whole.share < EVEN_SHARE:
        return halves
    apart = sum(span.share * (span.end - span.first) for span in halves) / (end - first)
    return halves if apart > whole.share + BETTER_APART else [whole]


def _span(
    moment: NDArray[np.float64], is_known: NDArray[np.bool_], first: int, end: int
) -> _Span | None:
    """The pace that most flips of a span keep; none where there are too few to tell."""
    inside = slice(*np.searchsorted(moment, (first, end)))
    flips = inside.stop - inside.start
    known = moment[inside][is_known[inside]]
    if len(known) < FEWEST_SEAMS:
        return None
    window = Seams(known, np.ones(len(known)), first, end - first, held=0)
    rate = np.arange(SLOWEST_EVEN, SLOWEST, 0.02 / window.length)
    phase, on_grid = circled(rate, known - window.middle, window.weight)
    due = rate * window.length
    share = on_grid / np.maximum(due, flips)
    share[flips > MOST_FLIPS * due] = 0
    best = int(share.argmax())
    period = 1 / float(rate[best])
    pace = fitted(window, Pace(period, window.middle + float(phase[best]) * period))
    return _Span(first, end, pace, float(share[best]))


def expected(
    candidates: Candidates,
    paces: list[tuple[int, int, Pace]],
    compared: NDArray[np.bool_],
    rows: int,
    period_rows: float,
    cost: float,
) -> Candidates:
    """The candidates, those on the grid of a pace with credit, and the places it names besides.

    compared : (n,) False where no flip can be told.
    rows, period_rows : height of the pictures, and rows scanned per refresh, blanking included.
    cost : of a flip that only the pace gives.
    """
    # A flip in the blanking shows as a clean one in the refresh that follows.
    blanking = 1 - rows / period_rows
    is_clean = candidates.row == 0
    moment = candidates.refresh + candidates.row / period_rows - is_clean * blanking / 2
    reward = candidates.reward.copy()
    places, named = [candidates.refresh], [candidates.row]
    for first, end, pace in paces:
        inside = slice(*np.searchsorted(candidates.refresh, (first, end)))
        off = np.abs(pace.off(moment[inside])) * pace.period
        reach = NEAR * pace.period + is_clean[inside] * blanking / 2
        credited = np.minimum(reward[inside] + CREDIT, np.maximum(reward[inside], -LEAST_COST))
        reward[inside] = np.where(off <= reach, credited, reward[inside])
        flip = pace.flips(first, end)
        place = np.floor(flip).astype(np.int64)
        row = (flip - place) * period_rows
        is_seen = (row < rows) & compared[np.minimum(place, end - 1)] & (place < end)
        places.append(place[is_seen])
        named.append(row[is_seen])
    added = sum(len(more) for more in places[1:])
    place, row = np.concatenate(places), np.concatenate(named)
    order = np.lexsort((row, place))
    return Candidates(
        place[order],
        row[order],
        np.append(reward, np.full(added, min(CREDIT + NAMED - cost, -LEAST_COST)))[order],
        np.append(candidates.lone_reward, np.zeros(added))[order],
        np.append(candidates.by_bands, np.zeros(added, bool))[order],
    )


def repeats(moment: NDArray[np.float64], paces: list[tuple[int, int, Pace]]) -> NDArray[np.bool_]:
    """(m,) True where a flip falls together with the one before, by the pace at that place.

    moment : (m,) of the flips, in refreshes, ascending.
    """
    result = np.zeros(len(moment), bool)
    for first, end, pace in paces:
        inside = slice(*np.searchsorted(moment, (first, end)))
        apart = np.diff(moment[inside], prepend=-np.inf)
        result[inside] = apart < LEAST_APART * pace.period
    return result
