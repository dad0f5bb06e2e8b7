"""Tears of a program that flips at an even pace and leaves no row held.

Such a program tears in nearly every refresh, or several times, and nothing tells by what changed
where. A lone seam proves little then: where things move, some come by chance. But flips at an
even pace lie on one grid in time: one period after the other, through picture and blanking. So
the seams of many refreshes are laid round a circle, one turn to a period, for every period in
question. With the right one the tears come to lie in one place, and seams by chance all round.

By chance means: as often as seams at those very rows are found in the refreshes that do not tear
there. So a row that shows a seam all the time, as the edge of a bar may, is no sign. Where tears
hardly move from refresh to refresh it takes a longer look to tell the two apart.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacerail.detect.grid import (
    FEWEST_SEAMS,
    SLOTS,
    SLOWEST,
    Pace,
    Seams,
    circled,
    fitted,
    fundamental,
    nearest,
    placed,
    significance,
    weight_on_grid,
)
from pacerail.detect.part import Part, TearRows
from pacerail.runs import runs

FASTEST = 3.2
"""Flips per refresh."""
NEAR_WHOLE = 0.0125
"""Flips per refresh: this near a whole number tears hardly move from refresh to refresh."""
QUICK_LENGTH, LONG_LENGTH = 48, 144
"""Refreshes that are searched together, where tears move and where they hardly do. (Of 32, 48 and
64 for the first, the shortest finds less, the longest no more.)"""
LONG_WEIGHT = 0.04
"""Strength per refresh that a long look must find: edges that move slowly show less, 0.022 at
most, a program at 59.94 frames per second on a display at 60 Hz 0.12."""
STEP = 0.02
"""Flips in a window by which one pace differs from the next: seams at its ends move by a slot."""
JUDGED = 12
"""Paces looked at more closely: the likeliest by the number of their seams alone. (On 500 clips
no verdict and no tear differs from what 40 give.)"""
STRONGEST_SEAM = 0.3
"""Strength that counts: one seam may not outweigh many."""
CLEAR_SEAM, SEAM_REACH = 0.05, 0.006
"""Strength of a seam that tells the row of a tear which a pace gives, and how many refreshes from
there it may lie."""
UNSOUGHT_END = 3
"""Refreshes at the end through which a pace goes on though none of its seams is found there."""
SURELY_HELD = -2.0
"""Evidence from which a band is surely held."""
HELD_SHARE = 0.04
"""Share of the bands of a window that may surely be held. At a steady 50 frames per second on a
display at 60 Hz 0.07 are; faster than the display, 0.02 at most in most content."""
QUICK_SURE, LONG_SURE, CONTINUED = 6.5, 8.5, 3.0
"""Standard deviations by which the seams on a grid outweigh chance: of a window that is taken, and
of one that goes on where such a one ends. Of 381 short windows without tears one in ten passes 4.3
and none 6.3, but for one edge that scrolled; at an even pace two of three pass 6.5. Long ones
reach 6.7 in flight through a corridor, and 12 and more at 59.94 to 60.15 frames per second."""
QUICK_LIKELY, SHOWN_BESIDE = 5.0, 4.0
"""The same of a short window that is taken if the next without overlap shows its pace as well.
(With sync on, the next of 11 windows beyond 4.5 come to 3.0 at most.)"""
STILL = 3
"""Refreshes without a change, one after the other, through which no pace goes on."""


@dataclass(frozen=True, eq=False)
class _Search:
    """Paces to look for, and where."""

    rates: NDArray[np.float64]
    """In flips per refresh, ascending."""
    length: int
    """Refreshes that are searched together."""
    least_weight: float
    """Strength of the seams on the grid per refresh that is taken for tears."""
    likely: float
    """Standard deviations from which it may be: if the next window shows the same."""
    sure: float
    """Standard deviations from which it is."""
    counts_joint: bool
    """Whether seams that join better with the neighbouring pictures count as well: they show
    where a frame is on screen for a whole refresh."""

    @property
    def hop(self) -> int:
        """Refreshes by which the next window lies later."""
        return self.length // 2


def _searches() -> tuple[_Search, ...]:
    """Paces at which tears move, and those at which they hardly do."""
    rates = np.arange(SLOWEST, FASTEST, STEP / QUICK_LENGTH)
    is_near = np.abs(rates - np.rint(rates)) < NEAR_WHOLE
    beside = np.arange(-NEAR_WHOLE, NEAR_WHOLE, STEP / LONG_LENGTH)
    near = np.concatenate([whole + beside for whole in range(1, round(FASTEST) + 1)])
    return (
        _Search(rates[~is_near], QUICK_LENGTH, 0.0, QUICK_LIKELY, QUICK_SURE, counts_joint=False),
        _Search(near, LONG_LENGTH, LONG_WEIGHT, LONG_SURE, LONG_SURE, counts_joint=True),
    )


def paced_flips(
    part: Part,
    evidence: NDArray[np.float64],
    is_still: NDArray[np.bool_],
    period_rows: float,
) -> tuple[NDArray[np.bool_], NDArray[np.int64], NDArray[np.float64]]:
    """(n,) where flips follow an even pace without rest; place and tear row of each such flip.

    evidence : (n, bands) how much more likely each band is to have changed than not.
    is_still : (n,) where the picture as a whole does not change.
    period_rows : rows scanned per refresh period, blanking included.
    """
    held = (evidence < SURELY_HELD).mean(axis=1)
    is_paced = np.zeros(len(held), bool)
    moments: list[float] = []
    # What falls in the blanking before a place is seen there.
    blanking = 1 - part.layout.rows / period_rows
    for first, end, pace in paces(part.tear_rows, held, period_rows):
        # The last refresh has no picture after it, so no seam is looked for there.
        if len(held) - end <= UNSOUGHT_END:
            end = len(held)
        is_paced[first:end] = True
        moments += pace.flips(first - blanking, end - blanking).tolist()
    for first, end in runs(is_still):
        is_paced[first:end] &= end - first < STILL
    moment = _at_seams(np.array(moments), part.tear_rows, period_rows)
    place, row = placed(moment, part.layout.rows, period_rows)
    goes_on = is_paced[place]
    return is_paced, place[goes_on], row[goes_on]


def _at_seams(
    moment: NDArray[np.float64], tears: TearRows, period_rows: float
) -> NDArray[np.float64]:
    """(flips,) moments of a pace, each at a clear seam nearby: frames come nearly evenly."""
    is_clear = np.maximum(tears.seam, tears.joint) >= CLEAR_SEAM
    seam = nearest(moment, np.sort((tears.place + tears.row / period_rows)[is_clear]))
    return np.where(np.abs(seam - moment) <= SEAM_REACH, seam, moment)


def paces(
    tears: TearRows, held: NDArray[np.float64], period_rows: float
) -> list[tuple[int, int, Pace]]:
    """Half-open places without overlap, and the pace in each.

    held : (n,) share of each refresh that is surely held.
    """
    found: list[tuple[int, int, Pace]] = []
    for search in _searches():
        left = held.copy()
        for first, end, _ in found:
            left[first:end] = 1
        found += _stretches(tears, left, period_rows, search)
    return found


def _stretches(
    tears: TearRows, held: NDArray[np.float64], period_rows: float, search: _Search
) -> list[tuple[int, int, Pace]]:
    """Those that one search finds."""
    weight = np.maximum(tears.seam, tears.joint) if search.counts_joint else tears.seam
    is_seam = weight > 0
    place, weight = tears.place[is_seam], np.minimum(weight[is_seam], STRONGEST_SEAM)
    moment = place + tears.row[is_seam] / period_rows
    length = min(search.length, len(held))
    windows: list[Seams] = []
    best: list[tuple[Pace | None, float]] = []
    last = len(held) - length
    for first in (*range(0, last, search.hop), last):
        inside = slice(*np.searchsorted(place, (first, first + length)))
        share = float(held[first : first + length].mean())
        seams = Seams(moment[inside], weight[inside], first, length, share)
        windows.append(seams)
        is_likely = len(seams.moment) >= FEWEST_SEAMS and seams.held <= HELD_SHARE
        best.append(_best_pace(seams, search) if is_likely else (None, 0.0))
    found = [
        pace if sure > search.sure or _is_shown_beside(windows, number, pace) else None
        for number, (pace, sure) in enumerate(best)
    ]
    _go_on(windows, found)
    stretches: list[tuple[int, int, Pace]] = []
    for seams, pace in zip(windows, found, strict=True):
        if pace is not None:
            first, end = _reach(seams, pace)
            if stretches and first < stretches[-1][1]:
                # Each window is surest of its middle: two that overlap meet half-way.
                before, meeting, pace_before = stretches[-1]
                middle = (first + meeting) // 2
                stretches[-1] = (before, middle, pace_before)
                first = middle
            if first < end:
                stretches.append((first, end, pace))
    return stretches


def _best_pace(seams: Seams, search: _Search) -> tuple[Pace | None, float]:
    """The pace that a window likely shows, and by how many standard deviations."""
    rate = search.rates
    phase, weight = circled(rate, seams.moment - seams.middle, seams.weight)
    best, most = None, search.likely
    for number in np.argsort(-weight)[:JUDGED].tolist():
        period = 1 / float(rate[number])
        pace = Pace(period, seams.middle + float(phase[number]) * period)
        sure = significance(seams, pace)
        if sure > most:
            best, most = pace, sure
    if best is None or weight_on_grid(seams, best) < search.least_weight * seams.length:
        return None, 0.0
    best = fitted(seams, fundamental(seams, best))
    is_searched = np.abs(search.rates - 1 / best.period) < 2 * STEP / search.length
    return (best, most) if is_searched.any() else (None, 0.0)


def _is_shown_beside(windows: list[Seams], number: int, pace: Pace | None) -> bool:
    """Whether the next window without overlap, before or after, shows a pace as well."""
    for near, far in ((number - 1, number - 2), (number + 1, number + 2)):
        if pace is not None and 0 <= far < len(windows) and windows[far].held <= HELD_SHARE:
            there = fitted(windows[far], fitted(windows[near], pace))
            if significance(windows[far], there) > SHOWN_BESIDE:
                return True
    return False


def _go_on(windows: list[Seams], found: list[Pace | None]) -> None:
    """Take up the pace of a window in those beside it that show it less surely."""
    for numbers in (range(1, len(found)), range(len(found) - 2, -1, -1)):
        for number in numbers:
            before = found[number - 1 if numbers.step > 0 else number + 1]
            seams = windows[number]
            if found[number] is None and before is not None and seams.held <= HELD_SHARE:
                pace = fitted(seams, before)
                if significance(seams, pace) > CONTINUED:
                    found[number] = pace


def _reach(seams: Seams, pace: Pace) -> tuple[int, int]:
    """Half-open places from the first to the last tear that a window shows.

    At either end a pace that drifts is off already, and a seam there on its grid by chance: the
    first and the last are the strongest seams of their refreshes, if any is.
    """
    place = seams.moment.astype(int)
    strongest = np.zeros(seams.length)
    np.maximum.at(strongest, place - seams.first, seams.weight)
    is_on = np.abs(pace.off(seams.moment)) < 1 / SLOTS
    is_strongest = seams.weight == strongest[place - seams.first]
    shown = place[is_on & is_strongest] if (is_on & is_strongest).any() else place[is_on]
    return int(shown.min()), int(shown.max()) + 1
