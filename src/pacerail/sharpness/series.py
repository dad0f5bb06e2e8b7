"""Sizes over time: one that stays, or one that changes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce
from operator import add

from pacerail.sharpness.estimate import Estimate, estimate
from pacerail.sharpness.look import Look

# Heights that differ by more are different sizes: twice the 1 % that one is found within.
SAME_SIZE = 0.02


@dataclass(frozen=True, eq=False)
class Window:
    """A stretch of time [start_s, end_s), seconds from the first picture."""

    start_s: float
    end_s: float
    look: Look
    estimate: Estimate


@dataclass(frozen=True, eq=False)
class SizeSeries:
    """What is known of a segment as a whole and window by window."""

    estimate: Estimate
    """Of all windows together; of those that show the commonest size where it changes, or
    where all together show none."""
    windows: tuple[Window, ...]
    changes: bool
    """True where windows show different sizes."""

    @property
    def heights(self) -> tuple[int, ...]:
        """The different heights that windows show, from small to large."""
        groups = _groups(self.windows)
        return tuple(sorted(_middle_height(group) for group in groups))


def size_series(windows: Sequence[Window]) -> SizeSeries:
    """Windows of one capture put together; there must be one."""
    groups = _groups(windows)
    together = _estimate(windows)
    if len(groups) > 1 or (groups and together.status == "unknown"):
        together = _estimate(max(groups, key=len))
    return SizeSeries(together, tuple(windows), changes=len(groups) > 1)


def _estimate(windows: Sequence[Window]) -> Estimate:
    return estimate(reduce(add, (window.look for window in windows)))


def _groups(windows: Sequence[Window]) -> list[list[Window]]:
    """Windows that show a size, those of the same one together."""
    known = [window for window in windows if window.estimate.height is not None]
    groups: list[list[Window]] = []
    for window in sorted(known, key=_height):
        if groups and _height(window) <= (1 + SAME_SIZE) * _height(groups[-1][0]):
            groups[-1].append(window)
        else:
            groups.append([window])
    return groups


def _height(window: Window) -> int:
    return window.estimate.height or 0


def _middle_height(group: Sequence[Window]) -> int:
    heights = sorted(_height(window) for window in group)
    return heights[len(heights) // 2]
