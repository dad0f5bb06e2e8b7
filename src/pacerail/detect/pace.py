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

from pacerail.detect.part import Part

SLOWEST, FASTEST = 0.95, 3.2
"""Flips per refresh. Slower ones leave rows held that show where they tore."""
NEAR_WHOLE = 0.0125
"""Flips per refresh: this near a whole number tears hardly move from refresh to refresh."""
QUICK_LENGTH, LONG_LENGTH = 48, 144
"""Refreshes that are searched together, where tears move and where they hardly do. (Of 32, 48 and
64 for the first, the shortest finds less, the longest no more.)"""
LONG_WEIGHT = 0.04
"""Strength per refresh that a long look must find: edges that move slowly show less, 0.022 at
most, a program at 59.94 frames per second on a display at 60 Hz 0.12."""
SLOTS = 96
"""Parts of a period; a seam is on the grid up to one of them beside it."""
STEP = 0.02
"""Flips in a window by which one pace differs from the next: seams at its ends move by a slot."""
FEWEST_SEAMS = 8
"""Seams in a window that are worth a search."""
JUDGED = 40
"""Paces looked at more closely: the likeliest by the number of their seams alone."""
COMMON = 0.6
"""Share of refreshes that may tear at the same row. With more, too few are left to compare."""
STRONGEST_SEAM = 0.3
"""Strength that counts: one seam may not outweigh many."""
SURELY_HELD = -2.0
"""Evidence from which a band is surely held."""
HELD_SHARE = 0.04
"""Share of the bands of a window that may surely be held. At a steady 50 frames per second on a
display at 60 Hz 0.07 are; faster than the display, 0.02 at most in most content."""
SURE, CONTINUED = 12.0, 6.0
"""Standard deviations by which the seams on a grid outweigh chance: of one that is taken, and of
one that goes on where such a one ends. Without tears none of 300 windows passes 9.8, torn at
uneven paces none passes 10.5; at an even pace half pass 19."""
HELD_BETWEEN = 0.06
"""Share of the rows that a pace leaves held which must be seen to be."""
OVERTONE = 0.75
"""A slower pace that explains this share of the seams is the true one."""


@dataclass(frozen=True)
class Pace:
    """Flips at an even pace, in refreshes counted from the start of the part."""

    period: float
    flip: float
    """Moment of one of them."""

    def off(self, moment: NDArray[np.float64]) -> NDArray[np.float64]:
        """Periods, -0.5 to 0.5, between moments and the nearest flip."""
        turns = (moment - self.flip) / self.period
        result: NDArray[np.float64] = turns - np.rint(turns)
        return result

    def flips(self, first: float, end: float) -> NDArray[np.float64]:
        """Moments of the flips from `first` up to `end`."""
        low, high = (np.ceil((side - self.flip) / self.period) for side in (first, end))
        return self.flip + self.period * np.arange(low, high)


@dataclass(frozen=True, eq=False)
class _Search:
    """Paces to look for, and where."""

    rates: NDArray[np.float64]
    """In flips per refresh, ascending."""
    length: int
    """Refreshes that are searched together."""
    least_weight: float
    """Strength of the seams on the grid per refresh that is taken for tears."""
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
        _Search(rates[~is_near], QUICK_LENGTH, 0.0, counts_joint=False),
        _Search(near, LONG_LENGTH, LONG_WEIGHT, counts_joint=True),
    )


@dataclass(frozen=True, eq=False)
class _Seams:
    """Seams of a window, as parallel columns."""

    moment: NDArray[np.float64]
    weight: NDArray[np.float64]
    first: int
    """Place at which the window starts."""
    length: int
    held: float
    """Share of its bands that is surely held."""

    @property
    def middle(self) -> float:
        """Middle of the window in time."""
        return self.first + self.length / 2


def paced_flips(
    part: Part, evidence: NDArray[np.float64], period_rows: float
) -> tuple[NDArray[np.bool_], NDArray[np.int64], NDArray[np.float64]]:
    """(n,) where flips follow an even pace without rest; place and tear row of each such flip.

    evidence : (n, bands) how much more likely each band is to have changed than not.
    period_rows : rows scanned per refresh period, blanking included.
    """
    held = (evidence < SURELY_HELD).mean(axis=1)
    is_paced = np.zeros(len(held), bool)
    moments: list[float] = []
    # A flip in the blanking shows in the refresh that follows.
    blanking = 1 - part.layout.rows / period_rows
    for search in _searches():
        for first, end, pace in _stretches(part, np.where(is_paced, 1, held), period_rows, search):
            is_paced[first:end] = True
            moments += pace.flips(first - blanking, end - blanking).tolist()
    moment = np.array(moments)
    place = np.floor(moment + blanking).astype(np.int64)
    return is_paced, place, np.maximum(moment - place, 0) * period_rows


def _stretches(
    part: Part, held: NDArray[np.float64], period_rows: float, search: _Search
) -> list[tuple[int, int, Pace]]:
    """Half-open places without overlap, and the pace in each.

    held : (n,) share of each refresh that is surely held.
    """
    tears = part.tear_rows
    weight = np.maximum(tears.seam, tears.joint) if search.counts_joint else tears.seam
    is_seam = weight > 0
    place, weight = tears.place[is_seam], np.minimum(weight[is_seam], STRONGEST_SEAM)
    moment = place + tears.row[is_seam] / period_rows
    length = min(search.length, len(held))
    windows = []
    found: list[Pace | None] = []
    last = len(held) - length
    for first in (*range(0, last, search.hop), last):
        inside = slice(*np.searchsorted(place, (first, first + length)))
        share = float(held[first : first + length].mean())
        seams = _Seams(moment[inside], weight[inside], first, length, share)
        windows.append(seams)
        is_likely = len(seams.moment) >= FEWEST_SEAMS and seams.held <= HELD_SHARE
        found.append(_best_pace(seams, search) if is_likely else None)
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


def _best_pace(seams: _Seams, search: _Search) -> Pace | None:
    """The pace that a window surely shows."""
    rate = search.rates
    slot = np.empty(len(rate), np.int64)
    weight = np.empty(len(rate))
    moment = seams.moment - seams.middle
    for some in np.array_split(np.arange(len(rate)), 16):
        turns = np.outer(rate[some], moment)
        turns -= np.floor(turns)
        slots = (turns * SLOTS).astype(np.int64) + SLOTS * np.arange(len(some))[:, None]
        total = np.bincount(
            slots.ravel(),
            np.broadcast_to(seams.weight, slots.shape).ravel(),
            minlength=SLOTS * len(some),
        ).reshape(-1, SLOTS)
        total += np.roll(total, -1, axis=1)
        slot[some] = total.argmax(axis=1)
        weight[some] = total.max(axis=1)
    best, most = None, SURE
    for number in np.argsort(-weight)[:JUDGED].tolist():
        period = 1 / float(rate[number])
        pace = Pace(period, seams.middle + (slot[number] + 1) / SLOTS * period)
        significance = _significance(seams, pace)
        if significance > most:
            best, most = pace, significance
    if best is None or _on_grid(seams, best) < search.least_weight * seams.length:
        return None
    best = _fitted(seams, _fundamental(seams, best))
    is_searched = np.abs(search.rates - 1 / best.period) < 2 * STEP / search.length
    return best if is_searched.any() else None


def _significance(seams: _Seams, pace: Pace) -> float:
    """Standard deviations by which seams on the grid outweigh those to be expected there."""
    reach = pace.period / SLOTS
    flip_row = np.sort(pace.flips(seams.first, seams.first + seams.length) % 1)
    row = seams.moment % 1
    on_grid = np.abs(pace.off(seams.moment)) < 1 / SLOTS
    others = seams.length - _near(flip_row, flip_row, reach)
    can_tell = others >= (1 - COMMON) * seams.length
    if not can_tell.any():
        return 0.0
    is_told = seams.length - _near(flip_row, row, reach) >= (1 - COMMON) * seams.length
    order = np.argsort(row)
    expected, variance = (
        np.maximum(
            _near(row[order], flip_row, reach, np.where(on_grid, 0, value)[order])
            / np.maximum(others, 1),
            2 * reach * value.sum() / seams.length,
        )[can_tell].sum()
        for value in (seams.weight, seams.weight**2)
    )
    seen = seams.weight[on_grid & is_told].sum()
    return float((seen - expected) / np.sqrt(variance + 1e-9))


def _near(
    rows: NDArray[np.float64],
    row: NDArray[np.float64],
    reach: float,
    value: NDArray[np.float64] | None = None,
) -> NDArray[np.float64]:
    """Sum of values, or number, of those of the ascending `rows` that lie within reach."""
    total = np.arange(len(rows) + 1.0) if value is None else np.append(0.0, np.cumsum(value))
    first, end = np.searchsorted(rows, row - reach), np.searchsorted(rows, row + reach)
    result: NDArray[np.float64] = total[end] - total[first]
    return result


def _fundamental(seams: _Seams, pace: Pace) -> Pace:
    """The slowest pace that explains nearly as much: the grid of a faster one contains it."""
    explained = OVERTONE * _on_grid(seams, pace)
    for times in (5, 4, 3, 2):
        slower = [Pace(times * pace.period, pace.flip + k * pace.period) for k in range(times)]
        best = max(slower, key=lambda one: _on_grid(seams, one))
        is_slow = 1 / best.period < SLOWEST
        leaves_held = seams.held >= HELD_BETWEEN * (1 - 1 / best.period)
        if _on_grid(seams, best) > explained and (leaves_held or not is_slow):
            return best
    return pace


def _on_grid(seams: _Seams, pace: Pace) -> float:
    return float(seams.weight[np.abs(pace.off(seams.moment)) < 1 / SLOTS].sum())


def _fitted(seams: _Seams, pace: Pace) -> Pace:
    """The pace through the middle of its seams: a weighted least-squares line."""
    is_on = np.abs(pace.off(seams.moment)) < 1.5 / SLOTS
    if is_on.sum() < FEWEST_SEAMS:
        return pace
    moment, weight = seams.moment[is_on], np.sqrt(seams.weight[is_on])
    number = np.rint((moment - pace.flip) / pace.period)
    design = np.stack([number, np.ones_like(number)], axis=1) * weight[:, None]
    period, flip = np.linalg.lstsq(design, moment * weight, rcond=None)[0]
    return Pace(float(period), float(flip))


def _go_on(windows: list[_Seams], found: list[Pace | None]) -> None:
    """Take up the pace of a window in those beside it that show it less surely."""
    for numbers in (range(1, len(found)), range(len(found) - 2, -1, -1)):
        for number in numbers:
            before = found[number - 1 if numbers.step > 0 else number + 1]
            if found[number] is None and before is not None:
                pace = _fitted(windows[number], before)
                if _significance(windows[number], pace) > CONTINUED:
                    found[number] = pace


def _reach(seams: _Seams, pace: Pace) -> tuple[int, int]:
    """Half-open places from the first to the last tear that a window shows."""
    place = np.floor(seams.moment[np.abs(pace.off(seams.moment)) < 1 / SLOTS]).astype(int)
    return int(place.min()), int(place.max()) + 1
