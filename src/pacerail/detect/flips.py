"""Choosing the flips that explain how bands of rows changed, refresh after refresh.

A row shows a change in a refresh exactly when a flip fell into the period that ends as
that row is scanned. A flip therefore explains one period of change, from its own row to
the same row of the next refresh, and nothing explains change outside such periods. The
best set of flips is the one that gains most evidence over its cost: a search along
time, in which every candidate remembers its best predecessor.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray


class _Link(NamedTuple):
    """The flip before another, and whether they leave no room for held rows between them."""

    flip: int
    is_crowded: bool


_START = _Link(-1, is_crowded=False)


@dataclass(frozen=True, eq=False)
class Candidates:
    """Possible flips, ordered by refresh and row; columns of equal length."""

    refresh: NDArray[np.int64]
    row: NDArray[np.float64]
    """0 is a clean flip."""
    reward: NDArray[np.float64]
    """Evidence for a flip right there, less the cost of assuming one."""
    lone_reward: NDArray[np.float64]
    """Further evidence, of rows that are held before the flip and after its period: it
    counts only if the flips to either side leave room for such rows."""
    by_bands: NDArray[np.bool_]
    """True where nothing but the bands tells the row."""


def choose_flips(
    candidates: Candidates,
    evidence: NDArray[np.float64],
    band_rows: NDArray[np.float64],
    period_rows: float,
    held_rows: float,
) -> NDArray[np.int64]:
    """Indexes of the candidates that explain the evidence best.

    evidence : (n, bands) how much more likely each band is to have changed than not.
    band_rows : (bands + 1,) edges of the bands, in picture rows.
    period_rows : rows scanned per refresh period, blanking included.
    held_rows : rows that must stay held between the periods of two flips for their lone
        rewards to count.
    """
    before, after = _explained(candidates, evidence, band_rows)
    period = after - before
    start = candidates.refresh * period_rows + candidates.row
    # A clean flip falls in the blanking, anywhere: it leaves room from its start on.
    blanking = period_rows - band_rows[-1]
    earliest = start - np.where(candidates.row == 0, blanking, 0)
    # For each flip, the best sum that ends with it and how it came about, in two cases:
    # the next flip leaves room for held rows (lone), or it does not (crowded).
    lone_sum, crowded_sum = np.empty(len(start)), np.empty(len(start))
    lone_link: list[_Link] = []
    crowded_link: list[_Link] = []
    settled, near = (0.0, _START), (-np.inf, _START)
    to_settle: deque[int] = deque()
    recent: deque[int] = deque()
    best_recent: deque[int] = deque()  # falling sums, each later than the one before
    for i, now in enumerate(start):
        while to_settle and earliest[to_settle[0]] <= now - period_rows - held_rows:
            j = to_settle.popleft()
            settled = max(settled, (lone_sum[j] + period[j], _Link(j, is_crowded=False)))
        while recent and start[recent[0]] <= now - period_rows:
            j = recent.popleft()
            near = max(near, (crowded_sum[j] + period[j], _Link(j, is_crowded=True)))
            if best_recent[0] == j:
                best_recent.popleft()
        best = max(settled, near)
        if best_recent:
            j = best_recent[0]
            overlapped = crowded_sum[j] - before[j] + before[i]
            best = max(best, (overlapped, _Link(j, is_crowded=True)))
        crowded_sum[i] = best[0] + candidates.reward[i]
        crowded_link.append(best[1])
        with_room = settled[0] + candidates.reward[i] + candidates.lone_reward[i]
        lone_sum[i] = max(crowded_sum[i], with_room)
        lone_link.append(settled[1] if with_room > crowded_sum[i] else best[1])
        rank = crowded_sum[i] - before[i]
        while best_recent and crowded_sum[best_recent[-1]] - before[best_recent[-1]] <= rank:
            best_recent.pop()
        for queue in (best_recent, recent, to_settle):
            queue.append(i)
    for j in to_settle:
        settled = max(settled, (lone_sum[j] + period[j], _Link(j, is_crowded=False)))
    chosen = []
    link = settled[1]
    while link != _START:
        chosen.append(link.flip)
        link = (crowded_link if link.is_crowded else lone_link)[link.flip]
    return np.array(chosen[::-1], np.int64)


def _explained(
    candidates: Candidates, evidence: NDArray[np.float64], band_rows: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Evidence summed from the start up to each candidate, and up to one period after it."""
    within = np.cumsum(np.pad(evidence, ((0, 1), (1, 0))), axis=1)
    total = np.concatenate([[0.0], np.cumsum(within[:, -1])])
    band = np.searchsorted(band_rows, candidates.row, side="right") - 1
    band = np.clip(band, 0, len(band_rows) - 2)
    height = band_rows[band + 1] - band_rows[band]
    share = np.clip((candidates.row - band_rows[band]) / height, 0, 1)

    def up_to(refresh: NDArray[np.int64]) -> NDArray[np.float64]:
        low, high = within[refresh, band], within[refresh, band + 1]
        result: NDArray[np.float64] = total[refresh] + low + share * (high - low)
        return result

    return up_to(candidates.refresh), up_to(candidates.refresh + 1)
