"""What is kept of the pictures while they pass: columns over refreshes, cut into parts.

Decisions need neighbours in time but not the whole capture. Long runs of pictures are
therefore handed on in parts that overlap, so that memory does not grow with the capture;
each part says which of its refreshes it decides.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacerail.region import Region

DECIDED_AT_ONCE = 3600
"""Refreshes decided together: a minute at 60 Hz, enough to learn what noise looks like."""
CONTEXT = 240
"""Refreshes on each side that are looked at but decided elsewhere: more than twice the
reach of anything that is counted over neighbours."""


@dataclass(frozen=True, eq=False)
class TearRows:
    """Rows at which refreshes may be torn, as parallel columns."""

    place: NDArray[np.int64]
    """Place of the refresh in the columns of its part."""
    row: NDArray[np.float64]
    """Picture row at which the new frame would start."""
    mirror_octaves: NDArray[np.float64]
    """Strength of the mirrored change at the row, 0 where there is none."""
    seam: NDArray[np.float64]
    """Strength of the seam that stands alone at the row, 0 where there is none."""
    joint: NDArray[np.float64]
    """Strength with which the rows join better with the neighbouring pictures."""
    stands_out: NDArray[np.bool_]
    """True where few steps of the picture are as wide."""


@dataclass(frozen=True, eq=False)
class Layout:
    """How pictures of one size are divided."""

    rows: int
    """Height of the pictures."""
    row_step: int
    """Picture rows for each row that was looked at."""
    band_rows: NDArray[np.float64]
    """(bands + 1,) edges of the bands in picture rows."""
    block: Region
    """Where the first block lies in the picture, and how large it is."""


@dataclass(frozen=True, eq=False)
class Part:
    """A run of pictures of one size, as columns over its n refreshes."""

    layout: Layout
    decided: slice
    """Places whose verdict this part gives; the others are there to be looked at."""
    refresh: NDArray[np.int64]
    pts: NDArray[np.int64]
    compared: NDArray[np.bool_]
    """False where the refresh before is missing."""
    is_intra: NDArray[np.bool_]
    is_bidirectional: NDArray[np.bool_]
    """True for B pictures."""
    quantiser_step: NDArray[np.float64]
    """In code values; not a number where it was not looked at or nothing tells."""
    strongest: NDArray[np.float64]
    """Strongest change in code values, 0 where not compared."""
    bands: NDArray[np.float16]
    """(n, bands) change of each band in code values."""
    sought: NDArray[np.bool_]
    """False where seams were not looked for."""
    motion_octaves: NDArray[np.float16]
    """(n, bands) octaves by which a change counts for more or less than its size says, as
    what changed kept its texture or did not; 0 where seams were not looked for."""
    edge_shift: NDArray[np.int8]
    """(n, bands - 1) rows looked at, from each edge between bands to where near it this change
    and the next part best; 0 where seams were not looked for."""
    extent: NDArray[np.int16]
    """(n, 4) first and end band, first and end block of what changed."""
    tear_rows: TearRows
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Refresh:
    """What is kept of one refresh."""

    refresh: int
    pts: int
    compared: bool
    is_intra: bool
    is_bidirectional: bool
    quantiser_step: float
    strongest: float
    extent: tuple[int, int, int, int]
    bands: bytes
    """Changes of the bands as 16 bit floats."""


class Columns:
    """Refreshes as they come in, and parts of them as they are due."""

    def __init__(self, layout: Layout) -> None:
        self.end = 0
        """Place of the next refresh."""
        self._layout = layout
        self._first = 0
        self._undecided = 0
        self._refreshes: list[Refresh] = []
        self._tears: list[tuple[int, float, float, float, float, bool]] = []
        self._sought: dict[int, tuple[bytes, bytes]] = {}

    @property
    def is_due(self) -> bool:
        """Whether enough has come in for a part, with what follows it."""
        return self.end - self._undecided >= DECIDED_AT_ONCE + CONTEXT

    def add(self, refresh: Refresh) -> None:
        """Append a refresh."""
        self._refreshes.append(refresh)
        self.end += 1

    def add_tear(
        self,
        place: int,
        row: float,
        mirror_octaves: float,
        seam: float,
        joint: float,
        *,
        stands_out: bool,
    ) -> None:
        """Append a row at which the refresh at `place` may be torn."""
        self._tears.append((place, row, mirror_octaves, seam, joint, stands_out))

    def add_sought(self, place: int, motion_octaves: bytes, edge_shift: bytes) -> None:
        """Note that seams were looked for, and what was seen of the bands.

        The octaves are 16 bit floats, the shifts 8 bit integers.
        """
        self._sought[place] = motion_octaves, edge_shift

    def take(self, *, is_last: bool, notes: Sequence[str] = ()) -> Part:
        """The next part; what no later part needs is forgotten."""
        end = self.end if is_last else self._undecided + DECIDED_AT_ONCE
        part = self._part(slice(self._undecided - self._first, end - self._first), notes)
        self._undecided = end
        first = max(end - CONTEXT, self._first)
        self._refreshes = self._refreshes[first - self._first :]
        self._tears = [tear for tear in self._tears if tear[0] >= first]
        self._sought = {place: seen for place, seen in self._sought.items() if place >= first}
        self._first = first
        return part

    def _part(self, decided: slice, notes: Sequence[str]) -> Part:
        kept = self._refreshes
        tears = np.array(self._tears, float).reshape(-1, 6).T
        bands = np.frombuffer(b"".join(r.bands for r in kept), np.float16).reshape(len(kept), -1)
        sought, motion_octaves = np.zeros(len(kept), bool), np.zeros_like(bands)
        edge_shift = np.zeros((len(kept), max(bands.shape[1] - 1, 0)), np.int8)
        for place, (octaves, shift) in self._sought.items():
            at = place - self._first
            sought[at] = True
            motion_octaves[at] = np.frombuffer(octaves, np.float16)
            edge_shift[at] = np.frombuffer(shift, np.int8)
        return Part(
            layout=self._layout,
            decided=decided,
            refresh=np.array([r.refresh for r in kept], np.int64),
            pts=np.array([r.pts for r in kept], np.int64),
            compared=np.array([r.compared for r in kept]),
            is_intra=np.array([r.is_intra for r in kept]),
            is_bidirectional=np.array([r.is_bidirectional for r in kept]),
            quantiser_step=np.array([r.quantiser_step for r in kept]),
            strongest=np.array([r.strongest for r in kept]),
            bands=bands,
            sought=sought,
            motion_octaves=motion_octaves,
            edge_shift=edge_shift,
            extent=np.array([r.extent for r in kept], np.int16),
            tear_rows=TearRows(
                place=tears[0].astype(np.int64) - self._first,
                row=tears[1],
                mirror_octaves=tears[2],
                seam=tears[3],
                joint=tears[4],
                stands_out=tears[5].astype(bool),
            ),
            notes=tuple(notes),
        )
