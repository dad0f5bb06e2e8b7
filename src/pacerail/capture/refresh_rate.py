"""The refresh rate of a capture, found from its time stamps.

Containers round (Matroska to milliseconds), state averages over gaps, or guess. The time
stamps themselves tell more: steps that are multiples of one period, give or take the
rounding.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from pacerail.errors import InputError
from pacerail.timebase import STANDARD_RATES, snap_rate

# Recorders stamp by their own clock, up to 400 parts in a million beside the display's; half
# of what lies between 59.94 and 60 Hz is 500 (timebase.snap_rate).
SNAP = Fraction(1, 2500)
# Steps longer than this many periods are gaps: too long to count periods in reliably.
LONGEST_STEP = 4
# Share of the last residual that moves the count: a first guess wrong by 2 % then lags by a
# sixth of a period, and jitter of half a period moves it by a sixteenth. (Our choice.)
FOLLOW = 1 / 8


def find_refresh_rate(
    stretches: Sequence[NDArray[np.int64]], time_base: Fraction, stated_hz: Fraction | None
) -> tuple[Fraction, str]:
    """Refresh rate in Hz and a sentence that says why.

    stretches : time stamps in ticks, each stretch of shape (n,), in any order.
    time_base : seconds per tick.
    stated_hz : what the container says; it decides only where the time stamps leave two
        standard rates open.
    Raises InputError when no stretch has two different time stamps.
    """
    runs = [np.unique(stretch) for stretch in stretches]
    if not any(len(run) > 1 for run in runs):
        raise InputError(
            "capture must hold at least 2 pictures at different times, got fewer; "
            "record a longer one"
        )
    period, doubt = _period_ticks(runs)
    measured = 1 / (Fraction(period).limit_denominator(10**9) * time_base)
    tolerance = max(SNAP, Fraction(doubt).limit_denominator(10**9))
    near = f"{sum(map(len, runs))} time stamps lie {float(1000 / measured):.3f} ms apart"
    if stated_hz and abs(stated_hz - measured) <= tolerance * measured:
        rate = snap_rate(stated_hz)
    else:
        rate = snap_rate(measured, tolerance)
    if rate not in STANDARD_RATES:
        return rate, f"{near}; no standard rate lies within {float(tolerance):.2%}"
    off = float(abs(rate - measured) / rate)
    how_near = ":" if off < 1e-5 else f", {off:.3%} from"
    return rate, f"{near}{how_near} {_rate_text(rate)} Hz"


def _period_ticks(runs: Sequence[NDArray[np.int64]]) -> tuple[float, float]:
    """Refresh period in ticks and the relative error that tick rounding can leave in it.

    Least squares of time stamp over count of periods, with an offset of its own for every
    stretch between gaps: one slope from all of them.
    """
    steps = np.concatenate([np.diff(run) for run in runs]).astype(np.float64)
    # A common short step, not the shortest: a lone doubled picture must not set the scale.
    base = float(np.quantile(steps, 0.1, method="lower"))
    for _ in range(3):
        single = np.round(steps / base) == 1
        base = float(steps[single].mean()) if single.any() else base
    products = spread = widest = 0.0
    for run in runs:
        for ticks, count in _count_periods(run, base):
            from_mean = count - count.mean()
            products += float(from_mean @ (ticks - ticks[0]))
            spread += float(from_mean @ from_mean)
            widest = max(widest, float(count[-1]))
    if spread == 0:
        return base, 1 / base
    # One rounded end against the other, over the widest stretch.
    return products / spread, 1 / (widest * base)


def _count_periods(
    ticks: NDArray[np.int64], base: float
) -> Iterator[tuple[NDArray[np.int64], NDArray[np.float64]]]:
    """Time stamps between gaps, with the periods from the first of them to each.

    Periods are counted from a moment that follows the time stamps slowly: steps by
    themselves, rounded one by one, would let jitter slip a count.
    """
    count = np.zeros(len(ticks))
    start, expected = 0, float(ticks[0])
    for index in range(1, len(ticks)):
        periods = round((ticks[index] - expected) / base)
        if periods > LONGEST_STEP:
            yield ticks[start:index], count[start:index]
            start, expected = index, float(ticks[index])
            continue
        count[index] = count[index - 1] + periods
        expected += periods * base
        expected += (ticks[index] - expected) * FOLLOW
    yield ticks[start:], count[start:]


def _rate_text(rate: Fraction) -> str:
    return str(rate) if rate.denominator == 1 else f"{float(rate):.3f} ({rate})"
