"""Tears of a program that keeps the refresh rate: it tears in every refresh, at nearly one row.

No row is ever held then, so nothing tells by what changed where. Nor does a seam in one refresh
prove much: where things move, rows join better with the neighbouring pictures by chance, now
here and now there. But where that happens at one row far more often than at any other, a tear
stands. (One that moves away from there at an even pace is sought in `pace`.)
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pacerail.detect.part import Part, TearRows

LENGTH = 90
"""Refreshes that are searched together."""
DRIFT_SHARE = 0.04
"""Share of the height by which a tear may drift in them; `pace` finds what drifts faster."""
STRONGEST_SEAM = 0.3
"""Strength that counts: one seam may not outweigh many."""
LINE_ROWS = 1.5
"""Rows off a line that belong to it."""
APART_ROWS = 8
"""Rows between the middles of lines that are not the same."""
SURE_WEIGHT, SURE_RATIO = 0.024, 2.5
"""Strength per refresh of the seams on a line, and how many times that of any other, from which
it is a tear. Of 900 windows without tears, some of them with panels or split in two, none comes
to more than 0.015; at 60 frames per second on a display at 60 Hz two of three pass both."""
CONTINUED_WEIGHT, CONTINUED_RATIO = 0.01, 1.2
"""The same beside a window with such a line, where it goes on."""
FAINTEST = 0.01
"""Strength that counts as none, in the sum over a window."""
LONGEST_GAP = 30
"""Refreshes without a seam on a line over which a tear goes on: where it still stands, at least
one in eight shows it."""
MOSTLY = 0.5
"""Share of the refreshes of a window in which a pace explains it."""
CHANGING_BANDS, CHANGING_SHARE = 3, 0.5
"""Bands on either side of a line of which one must change, and the share of refreshes in which it
must: beside the edge of a bar or panel nothing does."""


@dataclass(frozen=True)
class Line:
    """Where seams lie most in the refreshes of a window, on a straight path."""

    first: int
    """Place at which the window starts."""
    length: int
    row: float
    """Row in the middle of the window."""
    drift: float
    """Rows by which it moves per refresh."""
    weight: float
    """Strength of its seams per refresh of a full window, however short this one is."""
    ratio: float
    """How many times that of any other line."""

    @property
    def is_sure(self) -> bool:
        """Whether it is the path of a tear, as chance would hardly give it."""
        return self.weight >= SURE_WEIGHT and self.ratio >= SURE_RATIO

    def row_at(self, place: NDArray[np.int64] | float) -> NDArray[np.float64]:
        """Row at places."""
        result: NDArray[np.float64] = np.asarray(
            self.row + self.drift * (place - self.first - self.length / 2)
        )
        return result

    def continues(self, other: Line) -> bool:
        """Whether it may be the path of the tear that is sure in a window beside."""
        meeting = (self.first + other.first + self.length) / 2
        is_near = abs(self.row_at(meeting) - other.row_at(meeting)) <= APART_ROWS
        is_clear = self.weight >= CONTINUED_WEIGHT and self.ratio >= CONTINUED_RATIO
        return bool(is_near and is_clear)


def steady_tears(
    part: Part, evidence: NDArray[np.float64], is_paced: NDArray[np.bool_]
) -> NDArray[np.float64]:
    """(n,) row of the tear in refreshes that tear where those beside them do, 0 elsewhere.

    evidence : (n, bands) how much more likely each band is to have changed than not.
    is_paced : (n,) where tears follow a pace, which may bring one to the same row in every
        fourth refresh or so.
    """
    n, step = len(part.refresh), part.layout.row_step
    # Seams lie between rows that were looked at: those are counted.
    tears = replace(part.tear_rows, row=part.tear_rows.row / step)
    lines = [
        line if _may_be_tear(part, evidence, is_paced, line) else None
        for line in seam_lines(tears, n, part.layout.rows // step)
    ]
    result = np.zeros(n)
    last_end = 0
    for line in _tears(lines):
        place, row = _seams_on(tears, line)
        first, end = _longest_run(place)
        # Nothing says that it begins or ends so close to where the pictures do.
        first, end = (0 if first <= LONGEST_GAP else first), (n if n - end <= LONGEST_GAP else end)
        # Each window is surest of its middle: two that overlap meet half-way.
        torn = np.arange((first + last_end) // 2 if first < last_end else first, end)
        path = np.polynomial.Polynomial.fit(place, row, 1)
        result[torn] = np.clip(path(torn) * step, 0, part.layout.rows)
        last_end = end
    return result


def seam_lines(tears: TearRows, n: int, rows: int) -> list[Line]:
    """The line of the most seams in each of the windows that cover n refreshes.

    rows : those that seams are counted in.
    """
    length = min(LENGTH, n)
    is_joint = tears.joint > 0
    place, row = tears.place[is_joint], tears.row[is_joint]
    weight = np.minimum(tears.joint[is_joint], STRONGEST_SEAM)
    # Neighbouring drifts part by a row at either end of the window.
    steps = round(DRIFT_SHARE * rows / 2)
    drift = np.arange(-steps, steps + 1) * (2 / length)
    lines = []
    for first in dict.fromkeys((*range(0, n - length, LENGTH // 2), n - length)):
        inside = slice(*np.searchsorted(place, (first, first + length)))
        lag = place[inside] - first - length / 2
        at = np.rint(row[inside] - drift[:, None] * lag).clip(0, rows).astype(int)
        at += (rows + 1) * np.arange(len(drift))[:, None]
        total = np.bincount(
            at.ravel(), np.tile(weight[inside], len(drift)), (rows + 1) * len(drift)
        ).reshape(len(drift), -1)
        total[:, 1:-1] += total[:, 2:] + total[:, :-2]
        best_drift, best_row = np.unravel_index(total.argmax(), total.shape)
        best = total[best_drift, best_row]
        total[:, max(best_row - APART_ROWS, 0) : best_row + APART_ROWS + 1] = 0
        lines.append(
            Line(
                first,
                length,
                float(best_row),
                float(drift[best_drift]),
                weight=float(best / LENGTH),
                ratio=float(best / max(total.max(), FAINTEST)),
            )
        )
    return lines


def _tears(lines: list[Line | None]) -> list[Line]:
    """Those that are sure, and those beside them that are the same tear."""
    found = [line if line is not None and line.is_sure else None for line in lines]
    for step in (1, -1):
        for number in range(len(lines))[::step]:
            line = lines[number]
            beside = found[number - step] if 0 <= number - step < len(lines) else None
            if line is not None and beside is not None and line.continues(beside):
                found[number] = line
    return [line for line in found if line is not None]


def _may_be_tear(
    part: Part, evidence: NDArray[np.float64], is_paced: NDArray[np.bool_], line: Line
) -> bool:
    """Whether the picture changes on both sides of a line, and no pace explains its seams."""
    window = slice(line.first, line.first + line.length)
    if is_paced[window].mean() > MOSTLY:
        return False
    changes = evidence[window] > 0
    share = np.pad(changes.mean(axis=0), CHANGING_BANDS)
    row = line.row * part.layout.row_step
    band = int(np.searchsorted(part.layout.band_rows, row, side="right")) - 1
    above = share[band : band + CHANGING_BANDS]
    below = share[band + CHANGING_BANDS + 1 : band + 2 * CHANGING_BANDS + 1]
    return bool(min(above.max(), below.max(initial=0)) >= CHANGING_SHARE)


def _seams_on(tears: TearRows, line: Line) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Place and row of the seams on a line."""
    inside = slice(*np.searchsorted(tears.place, (line.first, line.first + line.length)))
    place, row = tears.place[inside], tears.row[inside]
    is_on = (np.abs(row - line.row_at(place)) <= LINE_ROWS) & (tears.joint[inside] > 0)
    return place[is_on], row[is_on]


def _longest_run(place: NDArray[np.int64]) -> tuple[int, int]:
    """Half-open places from the first to the last of most of these, without a long gap between."""
    starts = np.flatnonzero(np.diff(place) > LONGEST_GAP) + 1
    run = max(np.split(place, starts), key=len)
    return int(run[0]), int(run[-1]) + 1
