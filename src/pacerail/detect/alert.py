"""When seams are looked for: that costs more than all else, and most captures have none.

Without a sign of tears a few refreshes are sampled. A sign that seldom comes without tears keeps
the search going. One that some content gives all the time starts a longer look; if that shows no
pace, no row and no path, as tears in every refresh would, the search rests.
"""

from __future__ import annotations

import numpy as np

from pacerail.detect.lone import are_followed
from pacerail.detect.pace import LONG_LENGTH, paces
from pacerail.detect.part import TearRows
from pacerail.detect.seam import Seam
from pacerail.detect.steady import seam_lines

SAMPLED_EVERY = 26
"""Without a sign of tears, seams are looked for in two of this many refreshes, one after the
other."""
SIGNALLED = 90
"""Refreshes after a sign of tears in which seams are looked for in each."""
SUSPECTED_SEAM = 0.15
"""A seam that stands out and is a sign of tears."""
FAINT_SEAM, FOLLOWED_SEAMS = 0.02, 0.08
"""The same of two that lie at nearly the same row of two such refreshes: strength of each, and of
both together."""
DRIFT_SHARE = 0.005
"""Share of the height within which two rows are nearly the same: a tear moves by as much from
refresh to refresh if the frame rate is half a percent off the refresh rate."""
POSSIBLE_SEAM = 0.08
"""Any seam after which a longer look is worth while."""
LOOK, REST = LONG_LENGTH, 4 * LONG_LENGTH
"""Refreshes of a longer look, and those after one in vain in which no other is taken: flights
through corridors and the like give cause for one look after the other."""


class Alert:
    """Decides from the seams so far whether the next refresh is searched.

    rows, period_rows : of the rows that seams are counted in: the height, and the rows that are
        scanned per refresh period, blanking included.
    """

    def __init__(self, rows: int, period_rows: float) -> None:
        self._rows, self._period_rows = rows, period_rows
        self._until = 0
        self._look_from = -LOOK
        self._rest_until = 0
        self._seams: list[tuple[int, Seam]] = []
        self._before: list[Seam] = []

    def is_on(self, place: int) -> bool:
        """Whether seams are looked for in the refresh at a place."""
        if place == self._look_from + LOOK and self._shows_tears():
            self._rest_until = place
            self._start_look(place)
        return place < self._until or place % SAMPLED_EVERY < 2

    def note(self, place: int, seams: list[Seam], *, is_torn: bool) -> None:
        """What was found in a refresh; `is_torn` where something other than a seam shows a tear."""
        outstanding = [seam for seam in seams if seam.stands_out]
        if is_torn or self._is_sign(outstanding):
            self._until = max(self._until, place + SIGNALLED)
        if place >= self._rest_until and any(seam.strength > POSSIBLE_SEAM for seam in seams):
            self._start_look(place)
        if place < self._look_from + LOOK:
            self._seams += [(place, seam) for seam in seams]
        self._before = outstanding

    def _start_look(self, place: int) -> None:
        self._look_from, self._rest_until = place, place + LOOK + REST
        self._until = max(self._until, place + LOOK)
        self._seams = []

    def _is_sign(self, seams: list[Seam]) -> bool:
        return any(seam.strength > SUSPECTED_SEAM for seam in seams) or any(
            min(one.strength, other.strength) > FAINT_SEAM
            and one.strength + other.strength > FOLLOWED_SEAMS
            and abs(one.row - other.row) <= DRIFT_SHARE * self._rows
            for one in seams
            for other in self._before
        )

    def _shows_tears(self) -> bool:
        count = len(self._seams)
        tears = TearRows(
            place=np.array([place for place, _ in self._seams], np.int64) - self._look_from,
            row=np.array([seam.row for _, seam in self._seams], float),
            mirror_octaves=np.zeros(count),
            seam=np.array([seam.alone for _, seam in self._seams]),
            joint=np.array([seam.joint for _, seam in self._seams]),
            stands_out=np.array([seam.stands_out for _, seam in self._seams], bool),
        )
        if are_followed(tears, LOOK, self._rows, self._period_rows):
            return True
        if any(line.is_sure for line in seam_lines(tears, LOOK, self._rows)):
            return True
        return bool(paces(tears, np.zeros(LOOK), self._period_rows))
