"""Which offset holds, for which stretch, and whether any does.

Two captures of one program need not run side by side from end to end: one loads for longer,
or goes on to something else. So an offset is judged on the stretch in which it holds, and it
must stand out from what the same captures reach at other offsets.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacerail.align.search import GRID_HZ, Changes, along, correlation

# Mean cosine that a match must reach. On the bench the same content in different looks, rates
# and crops reaches 0.59 and more, unrelated content 0.14 at most; noise of repeated trials
# grows with the length of a search, hence the upper half of the gap.
LEAST_CORRELATION = 0.4
# Sum of weights that a match must rest on: half a second of full motion.
LEAST_WEIGHT = 0.5 * GRID_HZ
# A match whose best competitor comes closer than this could as well be that one: a loop.
LEAST_CONFIDENCE = 0.1
# Stretches are followed with a window of this length, and hold while its mean cosine does.
_WINDOW = 2 * GRID_HZ
# Offsets of most promise that are looked at more closely, by either measure.
_CANDIDATES = 6
# Offsets nearer than this to one another are one: slow motion correlates with itself.
_APART = GRID_HZ // 2


@dataclass(frozen=True)
class Match:
    """An offset at which the captures agree, to a moment of the grid."""

    offset_s: float
    start_s: float
    """Where the stretch begins in the first capture."""
    end_s: float
    correlation: float
    """Mean cosine of the changes in the stretch."""
    weight: float
    """Sum of the weights of its moments, `GRID_HZ` per second of full motion."""
    confidence: float
    """0 to 1: how far the correlation stands above the best competing offset's."""

    @property
    def holds(self) -> bool:
        """False where the captures must not be called alike."""
        return (
            self.correlation >= LEAST_CORRELATION
            and self.weight >= LEAST_WEIGHT
            and self.confidence >= LEAST_CONFIDENCE
        )


def best_match(
    first: Changes, second: Changes, suggested_s: tuple[float, ...] = ()
) -> Match | None:
    """The offset with most evidence, None where too little moves to compare at all.

    suggested_s : offsets that something else than the pictures suggests.
    """
    lags, similar, weight = correlation(first, second)
    enough = weight >= LEAST_WEIGHT
    mean = np.where(enough, similar / np.maximum(weight, LEAST_WEIGHT), -1.0)
    standing = np.where(enough, similar / np.sqrt(np.maximum(weight, LEAST_WEIGHT)), -np.inf)
    places = {*_peaks(mean), *_peaks(standing)}
    shift_s = second.start_s - first.start_s
    for offset_s in suggested_s:
        lag = round((offset_s - shift_s) * GRID_HZ)
        if lags[0] <= lag <= lags[-1]:
            places.add(lag - int(lags[0]))
    found = [
        stretch
        for place in sorted(places)
        if enough[place] and (stretch := _stretch(first, second, int(lags[place]))) is not None
    ]
    if not found:
        return None
    best = max(found, key=lambda stretch: stretch.evidence)
    rivals = mean[np.abs(lags - best.lag) > _APART]
    rivals_in_stretch = [
        other.mean for other in found if abs(other.lag - best.lag) > _APART and other.overlaps(best)
    ]
    rival = max([0.0, *rivals_in_stretch, float(rivals.max(initial=0.0))])
    start_s = first.start_s + best.start / GRID_HZ
    return Match(
        offset_s=shift_s + best.lag / GRID_HZ,
        start_s=start_s,
        end_s=start_s + best.length / GRID_HZ,
        correlation=best.mean,
        weight=best.weight,
        confidence=float(np.clip(1 - rival / best.mean, 0, 1)) if best.mean > 0 else 0.0,
    )


@dataclass(frozen=True)
class _Stretch:
    lag: int
    start: int
    length: int
    similar: float
    weight: float

    @property
    def mean(self) -> float:
        return self.similar / self.weight

    @property
    def evidence(self) -> float:
        """Grows with length, and faster with agreement."""
        return self.similar * self.mean

    def overlaps(self, other: _Stretch) -> bool:
        """True where at least half of the other one's moments are this one's, too."""
        end = min(self.start + self.length, other.start + other.length)
        return 2 * (end - max(self.start, other.start)) > other.length


def _stretch(first: Changes, second: Changes, lag: int) -> _Stretch | None:
    """The longest run of moments in which the captures agree at that lag."""
    start, moments = along(first, second, lag)
    sums = np.cumsum(np.concatenate([np.zeros((1, 2)), moments]), axis=0)
    half = min(_WINDOW, len(moments)) // 2
    place = np.arange(len(moments))
    low, high = np.maximum(place - half, 0), np.minimum(place + half + 1, len(moments))
    similar, weight = (sums[high] - sums[low]).T
    # Where nothing moves a stretch goes on: a pause is no disagreement.
    agrees = similar >= LEAST_CORRELATION * weight - 1e-6
    edges = np.flatnonzero(np.diff(np.concatenate([[0], agrees, [0]])))
    runs = [
        _Stretch(lag, start + int(a), int(b - a), *(sums[b] - sums[a]))
        for a, b in zip(edges[::2], edges[1::2], strict=True)
    ]
    runs = [run for run in runs if run.weight >= LEAST_WEIGHT]
    return max(runs, key=lambda run: run.evidence, default=None)


def _peaks(values: NDArray[np.float64]) -> list[int]:
    """Places of the highest values that are `_APART` from one another."""
    left = values.copy()
    places: list[int] = []
    for _ in range(_CANDIDATES):
        place = int(np.argmax(left))
        if left[place] <= 0:
            break
        places.append(place)
        left[max(place - _APART, 0) : place + _APART + 1] = -np.inf
    return places
