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

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, eq=False)
class Candidates:
    """Possible flips, ordered by refresh and row; columns of equal length."""

    refresh: NDArray[np.int64]
    row: NDArray[np.float64]
    """0 is a clean flip."""
    reward: NDArray[np.float64]
    """Evidence for a flip right there, less the cost of assuming one."""


def choose_flips(
    candidates: Candidates,
    evidence: NDArray[np.float64],
    band_rows: NDArray[np.float64],
    period_rows: float,
) -> NDArray[np.int64]:
    """Indexes of the candidates that explain the evidence best.

    evidence : (n, bands) how much more likely each band is to have changed than not.
    band_rows : (bands + 1,) edges of the bands, in picture rows.
    period_rows : rows scanned per refresh period, blanking included.
    """
    before, after = _explained(candidates, evidence, band_rows)
    start = candidates.refresh * period_rows + candidates.row
    value = np.empty(len(start))
    previous = np.full(len(start), -1)
    # Predecessors less than a period back compete by value - before; older ones have
    # explained a full period and compete by their final value.
    recent: deque[int] = deque()
    waiting: deque[int] = deque()
    settled_value, settled = 0.0, -1
    for i in range(len(start)):
        while waiting and start[waiting[0]] <= start[i] - period_rows:
            j = waiting.popleft()
            final = value[j] + after[j] - before[j]
            if final > settled_value:
                settled_value, settled = final, j
        while recent and start[recent[0]] <= start[i] - period_rows:
            recent.popleft()
        best, previous[i] = settled_value, settled
        if recent:
            j = recent[0]
            continued = value[j] - before[j] + before[i]
            if continued > best:
                best, previous[i] = continued, j
        value[i] = best + candidates.reward[i]
        while recent and value[recent[-1]] - before[recent[-1]] <= value[i] - before[i]:
            recent.pop()
        recent.append(i)
        waiting.append(i)
    last, best = settled, settled_value
    for j in waiting:
        final = value[j] + after[j] - before[j]
        if final > best:
            best, last = final, j
    chosen = []
    while last >= 0:
        chosen.append(last)
        last = int(previous[last])
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
