"""Hard cuts, in one pass that remembers the last second.

A cut changes the scene from one refresh to the next, more than motion around it does, and
for good. Without sync it comes in at a tear: the rows below it change in one refresh and
those above in the next, and the first of the two is the cut's. A scene that comes back at
once was hidden by a flash: neither side of that is a cut. A jump after a stall is no cut
either: motion goes on from there, as far in the same time. Steps of a fade seldom stand out,
and the light goes on the same way beside them. A spinner or a bar on a loading screen
changes too little of the picture.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

import numpy as np
from numpy.typing import NDArray

from pacerail.moments.scene import Scenes, row_differences
from pacerail.moments.sketch import ROWS, Sketch

FLASH_S = Fraction(1, 5)
"""A scene that is back within this time was hidden, not left. (Our choice: a flash is a few
refreshes long, the shortest shot that a viewer takes in several times as long.)"""

_STALL_S = Fraction(1, 2)
"""A picture held for less is a stall, after which motion may jump; one held longer is still, by
the product's own limit, and what follows it is judged like anything else."""

# Code values that the mean of a picture must change by, beyond motion. Cuts between two views
# of the demo's harbour reach 1.0 to 1.5, others 1.5 to 100; held pictures of noise of sigma 1,
# coded at crf 23, reach 0.02.
_LEAST_CHANGE = 0.6
# How far a cut must stand above all but a tenth of the steps of motion around it. (Measured:
# cuts of the demo and of film stand out 3.5 times or more, steps of stutter up to 3.)
_LEAD = 3.0
_QUIETER = 0.9
# Change up to which a picture was held; noise and coding of held pictures reach 0.02.
_HELD = 0.03
# How far a cut must stand above the motion that follows it, over as long as the picture was
# held before: a program that catches up after a stall jumps once, as far as it then moves.
# (Measured: such jumps reach 1.2 times that in the demo.)
_JUMP = 2.0
# Share of a cut's change that the scenes before and after it must differ by throughout.
_LASTING = 0.4
# Share of a torn change that may lie on the rows where it should not be.
_LEAK = 0.25
# How much more a torn cut must explain than a clean one in the refresh that completes it: motion
# in a row or two below a tear explains no more by chance. (Measured: up to 1.001 in the demo.)
_TORN_GAIN = 1.02
# A change is a step of a fade if so much of it is light gained or lost, and if in the time of a
# flash before or after it the light goes on the same way, so many times as far.
_OF_LIGHT, _GOES_ON = 0.5, 2.0
# Pictures judged in one go. (Measured: half as many cost a tenth more each.)
_BLOCK = 128


class CutFinder:
    """Give it the sketches of a capture in order; it tells of cuts once it knows what follows."""

    def __init__(self, refresh_hz: Fraction) -> None:
        self._reach = max(ceil(FLASH_S * refresh_hz), 2)
        self._ahead = max(ceil(_STALL_S * refresh_hz), self._reach)
        self._waiting: list[tuple[int, Sketch]] = []
        self._seen: _Stretch | None = None
        self._next = 1
        self._last_cut = -2

    def see(self, refresh: int, sketch: Sketch) -> list[int]:
        """Refreshes of cuts, block by block, each half a second or more after it was seen."""
        self._waiting.append((refresh, sketch))
        return self._judged(self._ahead + 1) if len(self._waiting) == _BLOCK else []

    def finish(self) -> list[int]:
        """Cuts among the last pictures, which nothing follows for long."""
        return self._judged(0)

    def _judged(self, ahead: int) -> list[int]:
        """Cuts among the pictures that so many others follow, but for those judged before."""
        if self._waiting:
            self._seen = _Stretch.after(self._seen, self._waiting)
            self._waiting = []
        if self._seen is None:
            return []
        seen, start = self._seen, self._next
        end = max(len(seen.refreshes) - ahead, start)
        changes, are_torn = _changes_of_cuts(seen.change[start : end + 1])
        found = []
        for place in np.flatnonzero(changes[: end - start] >= _LEAST_CHANGE).tolist():
            index, change, is_torn = start + place, float(changes[place]), bool(are_torn[place])
            refresh = seen.refreshes[index]
            if refresh > self._last_cut + 1 and self._is_cut(seen, index, change, is_torn):
                self._last_cut = seen.refreshes[index + is_torn] - 1
                found.append(refresh)
        passed = max(end - self._ahead, 0)
        self._seen, self._next = seen.without(passed), end - passed
        return found

    def _is_cut(self, seen: _Stretch, index: int, change: float, is_torn: bool) -> bool:
        """Whether a change stands out, stays, and is neither a fade nor a stall made up for."""
        end = index + 1 + is_torn
        first, last = max(index - self._reach, 1), index + self._reach + 2
        around = sorted(seen.steps[first:index] + seen.steps[end:last])
        usual = around[ceil(_QUIETER * len(around)) - 1] if around else 0.0
        return (
            change >= _LEAD * usual
            and not self._fades(seen, index, end - 1, change)
            and self._lasts(seen, index, end - 1, change)
            and change >= _JUMP * self._resumed(seen, index, end, change)
        )

    def _fades(self, seen: _Stretch, start: int, end: int, change: float) -> bool:
        """Whether a change is no more than one step of light that goes on rising or falling."""
        light = seen.light
        step = light[end] - light[start - 1]
        before = light[start - 1] - light[max(start - 1 - self._reach, 0)]
        after = light[min(end + self._reach, len(light) - 1)] - light[end]
        goes_on = max(before / step, after / step) if step else 0.0
        return bool(abs(step) >= _OF_LIGHT * change and goes_on >= _GOES_ON)

    def _lasts(self, seen: _Stretch, start: int, end: int, change: float) -> bool:
        """Whether no picture before the cut is like its own, and none after like the one before."""
        first, last = max(start - self._reach, 0), end + self._reach + 1
        least = min(seen.apart(end, first, start).min(), seen.apart(start - 1, end, last).min())
        return bool(least >= _LASTING * change)

    def _resumed(self, seen: _Stretch, index: int, end: int, change: float) -> float:
        """How far the picture moves from `end` - 1 on, in the time of a stall before `index`."""
        before = seen.apart(index - 1, max(index - self._ahead, 0), index)[::-1]
        held = int(np.argmin(np.append(before <= _HELD, False)))
        # Slow motion holds the picture just as well, but does not set in with a step.
        if seen.steps[index - held] <= _HELD or held == self._ahead:
            return 0.0
        following = seen.steps[end : end + held]
        # From another cut on, what follows is not this motion.
        cut_again = next((i for i, step in enumerate(following) if step >= change), len(following))
        return float(seen.apart(end - 1, end, end + cut_again).max()) if cut_again else 0.0


@dataclass(frozen=True, eq=False)
class _Stretch:
    """Successive pictures, each with its difference to the one before."""

    refreshes: list[int]
    scenes: list[Scenes]
    change: NDArray[np.float32]
    """(n, ROWS) row differences; 0 where nothing came before."""
    steps: list[float]
    """Means of these."""
    light: list[float]
    """Mean luma, in 8-bit code values."""

    @classmethod
    def after(cls, before: _Stretch | None, sketches: Sequence[tuple[int, Sketch]]) -> _Stretch:
        """A stretch that goes on with sketches, each with its refresh."""
        scenes = Scenes.of([sketch for _, sketch in sketches])
        change = np.zeros((len(sketches), ROWS), np.float32)
        change[1:] = row_differences(scenes[:-1], scenes[1:])
        if before is None:
            before = cls([], [], np.zeros((0, ROWS), np.float32), [], [])
        else:
            change[0] = row_differences(before.scenes[-1], scenes[0])
        return cls(
            before.refreshes + [refresh for refresh, _ in sketches],
            before.scenes + [scenes[index] for index in range(len(sketches))],
            np.concatenate([before.change, change]),
            before.steps + change.mean(axis=1).tolist(),
            before.light + scenes.light.tolist(),
        )

    def without(self, count: int) -> _Stretch:
        """The stretch but for its first pictures."""
        return _Stretch(
            self.refreshes[count:],
            self.scenes[count:],
            self.change[count:],
            self.steps[count:],
            self.light[count:],
        )

    def apart(self, one: int, first: int, end: int) -> NDArray[np.float32]:
        """Means of what motion does not explain between one picture and each of others."""
        others = Scenes.together(self.scenes[first:end])
        differences = row_differences(self.scenes[one], others)
        means: NDArray[np.float32] = differences.mean(axis=1)
        return means


def _changes_of_cuts(change: NDArray[np.float32]) -> tuple[NDArray[np.float32], NDArray[np.bool_]]:
    """Mean change of a cut that starts in each refresh, and whether the next completes it.

    change : (n, ROWS) row differences of refreshes in a row; nothing is known after the last.
    """
    rows = np.arange(len(change))
    nothing = np.zeros((len(change), 1), np.float32)
    following = np.zeros_like(change)
    following[:-1] = change[1:]
    # Of every row as a tear, what changes where it should: below it now, above it next.
    below = np.hstack([np.cumsum(change[:, ::-1], axis=1)[:, ::-1], nothing])
    above = np.hstack([nothing, np.cumsum(following, axis=1)])
    row = np.argmax(below + above, axis=1)
    below_row, above_row = below[rows, row], above[rows, row]
    torn = (below_row + above_row) / ROWS
    leak = (below[:, 0] - below_row + above[:, ROWS] - above_row) / ROWS
    gains = torn >= _TORN_GAIN * following.mean(axis=1)
    is_torn = (row > 0) & (leak <= _LEAK * torn) & gains
    # What shows nowhere below its tear has come in before.
    shows = (row < ROWS) & (below_row >= _LEAST_CHANGE * (ROWS - row))
    changes = np.where(is_torn, np.where(shows, torn, 0), change.mean(axis=1))
    return changes.astype(np.float32), is_torn & shows
