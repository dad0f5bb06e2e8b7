"""When a program flips: lists of exact moments, seconds of display time from refresh 0.

Each list starts with the frame that is already on screen when the capture begins.
Irregular ones are drawn from a seeded generator and kept on a nanosecond grid, so
that every moment is an exact Fraction.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction

import numpy as np

_NANOSECONDS = 10**9


def steady(
    fps: Fraction | int, duration_s: Fraction | int, phase_s: Fraction | int = 0
) -> list[Fraction]:
    """Flips at an even rate, the first at `phase_s` (which may lie before 0)."""
    period = 1 / Fraction(fps)
    count = math.ceil((duration_s - phase_s) / period)
    return [phase_s + k * period for k in range(count)]


def varying(
    fps_at: Callable[[float], float], duration_s: Fraction | int, phase_s: Fraction | int = 0
) -> list[Fraction]:
    """Flips at a rate that is a function of time in seconds: each frame lasts ``1 / fps_at(t)``."""
    flips = [Fraction(phase_s)]
    while flips[-1] < duration_s:
        flips.append(flips[-1] + _exact(1.0 / fps_at(float(flips[-1]))))
    return flips[:-1]


def drifting(
    low_fps: float, high_fps: float, duration_s: Fraction | int, swing_s: float = 6.0
) -> list[Fraction]:
    """Unsynchronised flips whose rate swings slowly between two values, once per `swing_s`."""
    middle, reach = (low_fps + high_fps) / 2, (high_fps - low_fps) / 2
    return varying(lambda t: middle - reach * math.cos(2 * math.pi * t / swing_s), duration_s)


def jittered(
    low_fps: float, high_fps: float, duration_s: Fraction | int, seed: int
) -> list[Fraction]:
    """Every frame at a momentary rate of its own, uniform in frame time between the two."""
    rng = np.random.default_rng(seed)
    return varying(lambda _: 1.0 / rng.uniform(1.0 / high_fps, 1.0 / low_fps), duration_s)


def patterned(
    holds: Sequence[int],
    refresh_hz: Fraction,
    duration_s: Fraction | int,
    phase_s: Fraction | int = 0,
) -> list[Fraction]:
    """A repeating list of frame times in refreshes, such as (1, 3) for uneven 30 at 60 Hz."""
    flips = [Fraction(phase_s)]
    while flips[-1] < duration_s:
        flips.append(flips[-1] + holds[(len(flips) - 1) % len(holds)] / refresh_hz)
    return flips[:-1]


def stepping(
    shortest_s: float, longest_s: float, duration_s: Fraction | int, seed: int
) -> list[Fraction]:
    """A loading screen: steps at irregular moments, far apart."""
    return jittered(1.0 / longest_s, 1.0 / shortest_s, duration_s, seed)


def stalled(
    flips: Iterable[Fraction], stalls: Iterable[tuple[Fraction, Fraction]]
) -> list[Fraction]:
    """The same flips without those inside any ``(start_s, length_s)``; a stall or a still."""
    spans = [(start, start + length) for start, length in stalls]
    return [flip for flip in flips if not any(start < flip < end for start, end in spans)]


def late(flips: Sequence[Fraction], frames: Iterable[int], delay_s: Fraction) -> list[Fraction]:
    """The same flips with the listed frames delayed; order must stay, so less than a frame time."""
    delayed = set(frames)
    return [flip + delay_s if k in delayed else flip for k, flip in enumerate(flips)]


def joined(*stretches: tuple[Fraction, Sequence[Fraction]]) -> list[Fraction]:
    """Stretches one after another, each ``(length_s, flips counted from its own start)``."""
    flips: list[Fraction] = []
    start = Fraction(0)
    for length, stretch in stretches:
        flips += [start + flip for flip in stretch if 0 <= flip < length]
        start += length
    return flips


def _exact(seconds: float) -> Fraction:
    return Fraction(round(seconds * _NANOSECONDS), _NANOSECONDS)
