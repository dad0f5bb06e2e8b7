"""The refresh grid: which refresh each time stamp belongs to.

A display refreshes evenly; a recorder stamps its pictures with rounding, jitter and a clock
that drifts against the display's. The grid follows slow drift, so that an hour of it neither
invents nor loses a refresh, and takes real jumps as gaps.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

# Share of the last residual that moves the grid: a drift of 400 parts in a million then lags
# by 0.03 periods, and jitter of half a period moves it by less than a hundredth.
FOLLOW = 1 / 64
# A jump of the clock backwards by more than the first, or forwards by more than the second,
# is a restarted or spliced clock, not a lost or doubled picture. (Our choice.)
BACK_JUMP_S = 1.0
FORWARD_JUMP_S = 600.0


@dataclass
class RefreshGrid:
    """Places time stamps on a grid that starts with the first of them."""

    time_base: Fraction
    refresh_hz: Fraction
    clock_jumps: int = 0
    """Times that the stamps restarted or leapt."""
    shift_ticks: int = 0
    """Added to a time stamp so that the clock runs on over its jumps."""

    def __post_init__(self) -> None:
        self._first: int | None = None
        self._periods_per_tick = float(self.time_base * self.refresh_hz)
        self._phase = 0.0
        self._last_pts = 0
        self._last_refresh = 0

    def place(self, pts: int) -> int:
        """Refresh nearest to `pts`; it may repeat or go back where the recording did."""
        if self._first is None:
            self._first = self._last_pts = pts
            return 0
        pts += self.shift_ticks
        step_s = float((pts - self._last_pts) * self.time_base)
        if not -BACK_JUMP_S <= step_s <= FORWARD_JUMP_S:
            self.clock_jumps += 1
            step = max(round(1 / self._periods_per_tick), 1)
            self.shift_ticks += self._last_pts + step - pts
            pts = self._last_pts + step
        position = (pts - self._first) * self._periods_per_tick - self._phase
        refresh = int(position + 0.5) if position >= 0 else -1
        if refresh > self._last_refresh:
            gap = refresh > self._last_refresh + 1
            # After a gap the recorder may start anywhere within a period: take its word.
            self._phase += (position - refresh) * (0.5 if gap else FOLLOW)
            self._last_refresh, self._last_pts = refresh, pts
        return refresh


def settle(last: int, placed: int, following: int | None) -> int | None:
    """Refresh for a picture, given the one before and where the next one is placed.

    A time stamp that came early or late by more than half a period puts two pictures in one
    refresh and none beside it; the empty place is theirs. Returns None for a picture that
    the recording doubled: every refresh around it has its own.

    last : refresh of the picture before, -1 for none.
    placed, following : nearest refresh of this picture and the next; None for no next one.
    """
    if placed > last:
        crowded = following is not None and following <= placed
        return placed - 1 if crowded and placed - 1 > last else placed
    if following is not None and following > last + 1:
        return last + 1
    return None
