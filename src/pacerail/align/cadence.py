"""How long film waits for the next refresh before it is shown.

Film of 24 or 25 fps on a 60 Hz display has its frames held for two or three refreshes in
turn. Each frame is due at an even beat and waits for the next refresh, half a refresh on the
average. Two captures that wait differently would seem to be apart by that much.
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

# Rates at which film and television are made, and their 1000/1001 relatives (ITU-R BT.2020).
_FILM_FPS = tuple(
    rate * scale
    for rate in (Fraction(24), Fraction(25), Fraction(30))
    for scale in (Fraction(1), Fraction(1000, 1001))
)
# Share of all change that must come on the beat. Without one it does so by chance in the ratio
# of a refresh to a frame, 5 in 12 for 25 fps at 60 Hz; a detector's false flips change little.
_ON_BEAT = 0.85
# Fewer flips than this show no beat, more torn ones than this wait for no refresh.
_FEWEST_FLIPS, _MOST_TORN = 12, 0.05
# Clocks drift: a beat is looked for in stretches of this length. (20 parts in a million move it
# by a hundredth of a 60 Hz refresh.)
_STRETCH_S = 10.0
# A beat whose waits spread over less than this share of a refresh is locked to the refreshes,
# and how long it waits cannot be seen.
_LEAST_SPREAD = 0.25
# On frames hardly longer than a refresh anything would be on the beat.
_SHORTEST = 1.5
# Frames that last nearly whole refreshes are locked to them as well.
_LOCKED = 0.05
# Longest arc in refreshes: one, and what time stamps in whole milliseconds add to it.
_ARC = 1.05


def display_delay_s(
    flip_s: NDArray[np.float64],
    change: NDArray[np.float64],
    tear_share: NDArray[np.float64],
    refresh_hz: Fraction,
) -> float:
    """Mean wait of frames that come at a beat of film, seconds; 0 where there is no such beat.

    flip_s : shape (m,), moments of flips. change : shape (m,), how much each changes.
    tear_share : shape (m,), 0 for flips without tear.
    """
    if (tear_share > 0).mean() > _MOST_TORN:
        return 0.0
    period_s = float(1 / refresh_hz)
    stretch = ((flip_s - flip_s[0]) // _STRETCH_S).astype(np.intp)
    cuts = np.flatnonzero(np.diff(stretch)) + 1
    waits = [
        _mean_wait_s(flips, changes, period_s)
        for flips, changes in zip(np.split(flip_s, cuts), np.split(change, cuts), strict=True)
        if len(flips) >= _FEWEST_FLIPS
    ]
    return float(np.median(waits)) if waits else 0.0


def _mean_wait_s(
    flip_s: NDArray[np.float64], change: NDArray[np.float64], period_s: float
) -> float:
    """The same for one stretch.

    All flips of a beat come within one refresh after it. On a circle of one frame time they
    fill an arc no longer than a refresh: the beat is at most a refresh before the end of the
    arc and no later than its start, and halfway between the two is the best guess.
    """
    for fps in _FILM_FPS:
        frame_s = float(1 / fps)
        refreshes = frame_s / period_s
        if refreshes < _SHORTEST or abs(refreshes - round(refreshes)) < _LOCKED:
            continue
        order = np.argsort(flip_s % frame_s)
        phase = (flip_s % frame_s)[order]
        round_twice = np.concatenate([phase, phase + frame_s])
        weight = np.concatenate([change[order], change[order]])
        sums = np.concatenate([np.zeros(1), np.cumsum(weight)])
        ends = np.searchsorted(round_twice, phase + _ARC * period_s, side="right")
        on_beat = sums[ends] - sums[: len(phase)]
        start = int(np.argmax(on_beat))
        arc = round_twice[start : ends[start]]
        spread_s = arc[-1] - arc[0]
        if on_beat[start] >= _ON_BEAT * sums[len(phase)] and spread_s >= _LEAST_SPREAD * period_s:
            beat = (arc[0] + arc[-1] - period_s) / 2
            return float(arc.mean() - beat)
    return 0.0
