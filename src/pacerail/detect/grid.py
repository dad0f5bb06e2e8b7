"""A grid of flips at an even pace, and how surely the seams of a window lie on it.

Seams come by chance as well. So what lies on a grid counts by how much it exceeds what would lie
there anyway: seams at those very rows in the refreshes that do not tear there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

SLOTS = 96
"""Parts of a period; a seam is on the grid up to one of them beside it."""
CIRCLED_IN = 16
"""Groups of rates that are worked on one after the other, to keep within the cache."""
SLOWEST = 0.95
"""Flips per refresh. Slower programs leave rows held that show where they tore."""
FEWEST_SEAMS = 8
"""Seams in a window that are worth a search."""
COMMON = 0.6
"""Share of refreshes that may tear at the same row. With more, too few are left to compare."""
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
class Seams:
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


def placed(
    moment: NDArray[np.float64], rows: int, period_rows: float
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """(flips,) place of the refresh that each falls in, and its row, 0 for a clean one.

    moment : (flips,) in refreshes.
    rows, period_rows : height of the pictures, and rows scanned per refresh, blanking included.
    """
    # A flip in the blanking shows in the refresh that follows.
    place = np.floor(moment + 1 - rows / period_rows).astype(np.int64)
    return place, np.maximum(moment - place, 0) * period_rows


def nearest(moment: NDArray[np.float64], among: NDArray[np.float64]) -> NDArray[np.float64]:
    """(flips,) the nearest of ascending moments to each, infinite if there are none."""
    if not len(among):
        return np.full(len(moment), np.inf)
    place = np.searchsorted(among, moment)
    before, after = among[np.maximum(place - 1, 0)], among[np.minimum(place, len(among) - 1)]
    result: NDArray[np.float64] = np.where(
        np.abs(moment - before) <= np.abs(after - moment), before, after
    )
    return result


def circled(
    rate: NDArray[np.float64], moment: NDArray[np.float64], weight: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Phase, in turns, at which most weight comes to lie on a circle of one turn to a period, and
    how much: (rates,) each.

    rate : (rates,) periods per refresh.
    moment, weight : (seams,) in refreshes from the middle of the window, and how much each counts.
    """
    phase, most = np.empty(len(rate)), np.empty(len(rate))
    for some in np.array_split(np.arange(len(rate)), CIRCLED_IN):
        turns = np.outer(rate[some], moment)
        turns -= np.floor(turns)
        slots = (turns * SLOTS).astype(np.int64) + SLOTS * np.arange(len(some))[:, None]
        total = np.bincount(
            slots.ravel(),
            np.broadcast_to(weight, slots.shape).ravel(),
            minlength=SLOTS * len(some),
        ).reshape(-1, SLOTS)
        total += np.roll(total, -1, axis=1)
        phase[some] = (total.argmax(axis=1) + 1) / SLOTS
        most[some] = total.max(axis=1)
    return phase, most


def fundamental(seams: Seams, pace: Pace) -> Pace:
    """The slowest pace that explains nearly as much: the grid of a faster one contains it."""
    explained = OVERTONE * weight_on_grid(seams, pace)
    for times in (5, 4, 3, 2):
        slower = [Pace(times * pace.period, pace.flip + k * pace.period) for k in range(times)]
        best = max(slower, key=lambda one: weight_on_grid(seams, one))
        if weight_on_grid(seams, best) > explained:
            return best
    return pace


def significance(seams: Seams, pace: Pace) -> float:
    """Standard deviations by which seams on the grid outweigh those to be expected there.

    The signed root of the Poisson deviance, 2 (n ln(n / m) - (n - m)), of n found where m are
    expected, counted in seams of the strength that varies as these do: unlike the distance in
    standard deviations it does not make much of a few seams where next to none is expected.
    """
    reach = pace.period / SLOTS
    flip_row = np.sort(pace.flips(seams.first, seams.first + seams.length) % 1)
    row = seams.moment % 1
    on_grid = np.abs(pace.off(seams.moment)) < 1 / SLOTS
    others = seams.length - _near(flip_row, flip_row, reach)
    can_tell = others >= (1 - COMMON) * seams.length
    is_told = seams.length - _near(flip_row, row, reach) >= (1 - COMMON) * seams.length
    seen = seams.weight[on_grid & is_told]
    if not can_tell.any() or not seen.any():
        return 0.0
    order = np.argsort(row)
    expected, variance = (
        np.maximum(
            _near(row[order], flip_row, reach, np.where(on_grid, 0, value)[order])
            / np.maximum(others, 1),
            2 * reach * value.sum() / seams.length,
        )[can_tell].sum()
        for value in (seams.weight, seams.weight**2)
    )
    unit = max(variance / expected, (seen**2).sum() / seen.sum())
    found, by_chance = seen.sum() / unit, expected / unit
    if found <= by_chance:
        return 0.0
    return float(np.sqrt(2 * (found * np.log(found / by_chance) - (found - by_chance))))


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


def weight_on_grid(seams: Seams, pace: Pace) -> float:
    """Strength of the seams on a grid."""
    return float(seams.weight[np.abs(pace.off(seams.moment)) < 1 / SLOTS].sum())


def fitted(seams: Seams, pace: Pace) -> Pace:
    """The pace through the middle of its seams: a weighted least-squares line."""
    is_on = np.abs(pace.off(seams.moment)) < 1.5 / SLOTS
    if is_on.sum() < FEWEST_SEAMS:
        return pace
    moment, weight = seams.moment[is_on], np.sqrt(seams.weight[is_on])
    number = np.rint((moment - pace.flip) / pace.period)
    design = np.stack([number, np.ones_like(number)], axis=1) * weight[:, None]
    period, flip = np.linalg.lstsq(design, moment * weight, rcond=None)[0]
    return Pace(float(period), float(flip))
