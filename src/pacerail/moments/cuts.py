"""Hard cuts, in one pass that remembers the last second.

A cut changes the scene from one refresh to the next, more than motion around it does, and
for good. Without sync it comes in at a tear: the rows below it change in one refresh and
those above in the next, and the first of the two is the cut's. A scene that comes back at
once was hidden by a flash: neither side of that is a cut. A jump after a stall is no cut
either: motion goes on from there, as far in the same time. A fade has no step that stands
out. A spinner or a bar on a loading screen changes too little of the picture.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

import numpy as np
from numpy.typing import NDArray

from pacerail.moments.look import ROWS, Look
from pacerail.moments.scene import Scene, row_difference, scene_of

FLASH_S = Fraction(1, 5)
"""A scene that is back within this time was hidden, not left. (Our choice: a flash is a few
refreshes long, the shortest shot that a viewer takes in several times as long.)"""

_STALL_S = Fraction(1, 2)
"""A picture held for less is a stall, after which motion may jump; one held longer is still, by
the product's own limit, and what follows it is judged like anything else."""

# Code values that the mean of a picture must change by, beyond motion. Cuts between two views
# of the demo's harbour reach 1.0 to 1.5, others 3 to 100; held pictures of noise of sigma 1,
# coded at crf 23, reach 0.02.
_LEAST_CHANGE = 0.6
# How far a cut must stand above all but a tenth of the steps of motion around it. (Measured:
# cuts of the demo and of film stand out 4 times or more, steps of fades and stutter up to 2.9.)
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


@dataclass(frozen=True, eq=False)
class _Step:
    """A scene and how it differs from the one before."""

    refresh: int
    scene: Scene
    change: NDArray[np.float32]
    """(ROWS,) row difference to the scene before."""


class CutFinder:
    """Give it every look in order; it tells of cuts once it has seen what follows."""

    def __init__(self, refresh_hz: Fraction) -> None:
        self._reach = max(ceil(FLASH_S * refresh_hz), 2)
        self._ahead = max(ceil(_STALL_S * refresh_hz), self._reach)
        self._steps: deque[_Step] = deque(maxlen=2 * self._ahead + 2)
        self._last_cut = -2

    def see(self, look: Look) -> int | None:
        """The refresh of a cut about half a second before this picture, if there is one."""
        self._add(look.refresh, scene_of(look.thumbnail))
        return self._judge(len(self._steps) - 2 - self._ahead)

    def finish(self) -> list[int]:
        """Cuts among the last pictures, which nothing follows for long."""
        waiting = range(max(len(self._steps) - 1 - self._ahead, 1), len(self._steps))
        return [cut for index in waiting if (cut := self._judge(index)) is not None]

    def _add(self, refresh: int, scene: Scene) -> None:
        before = self._steps[-1].scene if self._steps else scene
        self._steps.append(_Step(refresh, scene, row_difference(before, scene)))

    def _judge(self, index: int) -> int | None:
        steps = self._steps
        if index < 1 or steps[index].refresh <= self._last_cut + 1:
            return None
        change, is_torn = self._change_at(index)
        end = index + 1 + is_torn
        first, last = max(index - self._reach, 1), min(index + self._reach + 2, len(steps))
        around = [float(steps[i].change.mean()) for i in range(first, last) if not index <= i < end]
        usual = float(np.quantile(around, _QUIETER)) if around else 0.0
        if change < max(_LEAST_CHANGE, _LEAD * usual) or not self._lasts(index, end - 1, change):
            return None
        if change < _JUMP * self._resumed(index, end, change):
            return None
        self._last_cut = steps[end - 1].refresh - 1
        return steps[index].refresh

    def _resumed(self, index: int, end: int, change: float) -> float:
        """How far the picture moves from `end` - 1 on, in the time of a stall before `index`."""
        steps = list(self._steps)
        last = steps[index - 1].scene
        held = 1
        while held < index and _apart(steps[index - 1 - held].scene, last) <= _HELD:
            held += 1
        # Slow motion holds the picture just as well, but does not set in with a step.
        sets_in = float(steps[index - held].change.mean()) > _HELD
        reached = 0.0
        for step in steps[end : end + held] if sets_in and held < self._ahead else ():
            if float(step.change.mean()) >= change:
                break  # Another cut: what follows is not this motion.
            reached = max(reached, _apart(steps[end - 1].scene, step.scene))
        return reached

    def _change_at(self, index: int) -> tuple[float, bool]:
        """Mean change of a cut that starts in a refresh, and whether the next completes it."""
        here = self._steps[index].change
        if index + 1 == len(self._steps):
            return float(here.mean()), False
        following = self._steps[index + 1].change
        # Of every row as a tear, what changes where it should: below it now, above it next.
        below = np.concatenate([np.cumsum(here[::-1])[::-1], [0]])
        above = np.concatenate([[0], np.cumsum(following)])
        row = int(np.argmax(below + above))
        torn = float(below[row] + above[row]) / ROWS
        leak = float(below[0] - below[row] + above[ROWS] - above[row]) / ROWS
        shows = row < ROWS and below[row] / (ROWS - row) >= _LEAST_CHANGE
        if row == 0 or leak > _LEAK * torn:
            return float(here.mean()), False
        return (torn, True) if shows else (0.0, False)

    def _lasts(self, start: int, end: int, change: float) -> bool:
        """Whether no picture before the cut is like its own, and none after like the one before."""
        scenes = [step.scene for step in self._steps]
        before, after = scenes[start - 1], scenes[end]
        first, last = max(start - self._reach, 0), end + self._reach + 1
        pairs = [(scene, after) for scene in scenes[first:start]]
        pairs += [(before, scene) for scene in scenes[end:last]]
        return min(_apart(*pair) for pair in pairs) >= _LASTING * change


def _apart(one: Scene, other: Scene) -> float:
    """Mean of what motion between two scenes does not explain."""
    return float(row_difference(one, other).mean())
