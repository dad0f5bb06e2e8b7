"""The refresh rate of a capture, found from its time stamps.

Containers round (Matroska to milliseconds), state averages over gaps, or guess. The time
stamps themselves tell more: steps that are multiples of one period, give or take the
rounding.
"""

from __future__ import annotations

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
    pts: NDArray[np.int64], time_base: Fraction, stated_hz: Fraction | None
) -> tuple[Fraction, str]:
    """Refresh rate in Hz and a sentence that says why.

    pts : shape (n,), ticks in any order, n >= 2 different ones.
    time_base : seconds per tick.
    stated_hz : what the container says; it decides only where the time stamps leave two
        standard rates open.
    Raises InputError when there are fewer than two different time stamps.
    """
    ticks = np.unique(pts)
    if len(ticks) < 2:
        raise InputError(
            f"capture must hold at least 2 pictures at different times, got {len(ticks)}; "
            "record a longer one"
        )
    period, doubt = _period_ticks(ticks)
    measured = 1 / (Fraction(period).limit_denominator(10**9) * time_base)
    tolerance = max(SNAP, Fraction(doubt).limit_denominator(10**9))
    near = f"the first {len(ticks)} time stamps lie {float(1000 / measured):.3f} ms apart"
    if stated_hz and abs(stated_hz - measured) <= tolerance * measured:
        rate = snap_rate(stated_hz)
    else:
        rate = snap_rate(measured, tolerance)
    if rate not in STANDARD_RATES:
        return rate, f"{near}; no standard rate lies within {float(tolerance):.2%}"
    off = float(abs(rate - measured) / rate)
    how_near = ":" if off < 1e-5 else f", {off:.3%} from"
    return rate, f"{near}{how_near} {_rate_text(rate)} Hz"


def _period_ticks(ticks: NDArray[np.int64]) -> tuple[float, float]:
    """Refresh period in ticks and the relative error that tick rounding can leave in it.

    Least squares of time stamp over count of periods, with an offset of its own for every
    run between gaps: one slope from all runs.
    """
    steps = np.diff(ticks).astype(np.float64)
    # A common short step, not the shortest: a lone doubled picture must not set the scale.
    base = float(np.quantile(steps, 0.1, method="lower"))
    for _ in range(3):
        single = np.round(steps / base) == 1
        base = float(steps[single].mean()) if single.any() else base
    count, run = _count_periods(ticks, base)
    members = np.bincount(run)
    count -= (np.bincount(run, count) / members)[run]
    moment = (ticks - ticks[0]).astype(np.float64)
    moment -= (np.bincount(run, moment) / members)[run]
    spread = float(count @ count)
    if spread == 0:
        return base, 1 / base
    # One rounded end against the other, over the widest run.
    widest = float(np.ptp(count)) * base
    return float(count @ moment) / spread, 1 / widest


def _count_periods(
    ticks: NDArray[np.int64], base: float
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Periods from the first of its run to each time stamp, and the run of each.

    A run ends at a gap. Periods are counted from a moment that follows the time stamps
    slowly: steps by themselves, rounded one by one, would let jitter slip a count.
    """
    count, run = np.zeros(len(ticks)), np.zeros(len(ticks), np.int64)
    expected = float(ticks[0])
    for index in range(1, len(ticks)):
        periods = round((ticks[index] - expected) / base)
        if periods > LONGEST_STEP:
            run[index:] += 1
            expected = float(ticks[index])
            continue
        count[index] = count[index - 1] + periods
        expected += periods * base
        expected += (ticks[index] - expected) * FOLLOW
    return count, run


def _rate_text(rate: Fraction) -> str:
    return str(rate) if rate.denominator == 1 else f"{float(rate):.3f} ({rate})"
