"""The pass over the pictures: the only place of the detector that keeps state.

What stays of each refresh is its change, band by band, and the rows at which it may be
torn: a few hundred bytes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pacerail.detect.bars import BarFinder
from pacerail.detect.blocks import BLOCK_COLUMNS
from pacerail.detect.change import BAND_ROWS, Change, ChangeMeter
from pacerail.detect.mirror import mirror_rows
from pacerail.detect.seam import SeamFinder
from pacerail.picture import Picture
from pacerail.region import Region

ROWS_ENOUGH = 540
"""Pictures of twice this height and more are looked at in every second, third ... row: a
thing of a given size in the picture then still covers as many rows."""
SAMPLED_EVERY = 13
"""Without a sign of tears, seams are looked for in one of this many refreshes."""
ALERT = 90
"""Refreshes after a sign of tears in which seams are looked for in each."""
CERTAIN_SEAM = 0.3
"""A seam that is a sign of tears; without tears it comes in 1 of 60 refreshes of the worst
content, a flight through a corridor, and in none of most."""
SEEN_CHANGE = 1.0
"""Code values: a refresh that changes less than this shows no tear that could be found."""
SAME_ROW = 8
"""Rows within which a mirror and a seam are the same tear."""
CUT_RATIO = 3.0
"""A refresh that changes this many times as much as both its neighbours follows a cut."""
CLEAR_SEAM = 0.05
"""A seam at least this strong knows the row better than the mirror."""


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
    """Strength of the seam at the row, 0 where there is none."""


@dataclass(frozen=True, eq=False)
class Part:
    """A run of pictures of one size, as columns over its n refreshes."""

    rows: int
    """Height of the pictures."""
    band_rows: NDArray[np.float64]
    """(bands + 1,) edges of the bands in picture rows."""
    refresh: NDArray[np.int64]
    pts: NDArray[np.int64]
    compared: NDArray[np.bool_]
    """False where the refresh before is missing."""
    is_intra: NDArray[np.bool_]
    strongest: NDArray[np.float64]
    """Strongest change in code values, 0 where not compared."""
    bands: NDArray[np.float16]
    """(n, bands) change of each band in code values."""
    sought: NDArray[np.bool_]
    """False where seams were not looked for."""
    extent: NDArray[np.int16]
    """(n, 4) first and end band, first and end block of what changed."""
    block: Region
    """Where the first block lies in the picture, and how large it is."""
    tear_rows: TearRows
    notes: tuple[str, ...]


def scan(
    pictures: Iterable[Picture], watch: Region | None, ignore: Sequence[Region]
) -> Iterator[Part]:
    """Parts of a capture, each when its last picture has been seen."""
    part: _GrowingPart | None = None
    for picture in pictures:
        if part is None or picture.luma.shape != part.shape:
            if part is not None:
                yield part.finish()
            part = _GrowingPart(picture, watch, ignore)
        part.add(picture)
    if part is not None:
        yield part.finish()


class _GrowingPart:
    """A part while its pictures arrive; holds on to the last two pictures."""

    def __init__(self, first: Picture, watch: Region | None, ignore: Sequence[Region]) -> None:
        self.shape = first.luma.shape
        self._row_step = max(first.luma.shape[0] // ROWS_ENOUGH, 1)
        rows, columns = first.luma[:: self._row_step].shape
        self._meter = ChangeMeter(rows, columns, first.bit_depth, watch, ignore)
        self._seams = SeamFinder(self._meter.window, first.bit_depth)
        self._bars = BarFinder(rows, columns, first.bit_depth)
        self._bands = self._meter.rows // BAND_ROWS
        self._last: list[tuple[Picture, Change | None]] = []
        self._columns: list[tuple[int, int, bool, bool, float]] = []
        self._band_changes = bytearray()
        self._extents: list[tuple[int, int, int, int]] = []
        self._tears: list[tuple[int, float, float, float]] = []
        self._sought: list[int] = []
        self._alert_until = 0

    def add(self, picture: Picture) -> None:
        """Measure the change from the picture before and look for tears in that one."""
        picture = replace(picture, luma=picture.luma[:: self._row_step])
        change = None
        if self._last and picture.refresh == self._last[-1][0].refresh + 1:
            change = self._meter.measure(self._last[-1][0].luma, picture.luma)
        bands = np.zeros(self._bands) if change is None else change.bands
        self._band_changes += bands.astype(np.float16).tobytes()
        self._extents.append((0, 0, 0, 0) if change is None else change.extent)
        self._bars.look(picture.luma)
        self._columns.append(
            (
                picture.refresh,
                picture.pts,
                change is not None,
                picture.picture_type == "I",
                0.0 if change is None else change.strongest,
            )
        )
        if len(self._last) == 2:
            self._look_for_tears(self._last[0], self._last[1], (picture, change))
        self._last = [*self._last[-1:], (picture, change)]

    def _look_for_tears(
        self,
        before: tuple[Picture, Change | None],
        torn: tuple[Picture, Change | None],
        after: tuple[Picture, Change | None],
    ) -> None:
        change, next_change = torn[1], after[1]
        if change is None or next_change is None:
            return
        if min(change.strongest, next_change.strongest) < SEEN_CHANGE:
            return  # a tear changes its own refresh and the one that completes it
        place = len(self._columns) - 2
        mirrors = list(zip(*mirror_rows(change, next_change), strict=True))
        seams: list[tuple[int, float]] = []
        if mirrors or place < self._alert_until or place % SAMPLED_EVERY == 0:
            self._sought.append(place)
            beside = [float(c.levels.mean()) for c in (before[1], next_change) if c is not None]
            after_cut = float(change.levels.mean()) > CUT_RATIO * max(beside)
            found = self._seams.rows(before[0], torn[0], after[0], after_cut=after_cut)
            seams = list(zip(*found, strict=True))
        if mirrors or any(strength > CERTAIN_SEAM for _, strength in seams):
            self._alert_until = place + ALERT
        for row, octaves in mirrors:
            near = [seam for seam in seams if abs(seam[0] - row) <= SAME_ROW]
            seams = [seam for seam in seams if abs(seam[0] - row) > SAME_ROW]
            best = max(near, key=lambda seam: seam[1], default=(row, 0.0))
            if best[1] < CLEAR_SEAM:
                best = (row, best[1])
            self._tears.append((place, self._picture_row(best[0]), float(octaves), float(best[1])))
        for row, strength in seams:
            self._tears.append((place, self._picture_row(row), 0.0, float(strength)))

    def _picture_row(self, row: int) -> float:
        """Row of the picture at which what starts with a row of the window starts.

        The middle of the rows between two that were looked at.
        """
        top = int(self._meter.window[0].start)
        return float((row + top) * self._row_step - (self._row_step - 1) / 2)

    def _first_block(self) -> Region:
        rows, columns = self.shape[0] / self._row_step, self.shape[1]
        top, left = (side.start for side in self._meter.window)
        return Region(left / columns, top / rows, BLOCK_COLUMNS / columns, BAND_ROWS / rows)

    def finish(self) -> Part:
        """The columns, as arrays."""
        refresh, pts, compared, is_intra, strongest = zip(*self._columns, strict=True)
        tears = np.array(self._tears, float).reshape(-1, 4).T
        edges = np.arange(self._bands + 1, dtype=float) * BAND_ROWS
        edges[-1] = self._meter.rows
        sought = np.zeros(len(refresh), bool)
        sought[self._sought] = True
        return Part(
            rows=self.shape[0],
            band_rows=(edges + self._meter.window[0].start) * self._row_step,
            refresh=np.array(refresh, np.int64),
            pts=np.array(pts, np.int64),
            compared=np.array(compared),
            is_intra=np.array(is_intra),
            strongest=np.array(strongest),
            bands=np.frombuffer(self._band_changes, np.float16).reshape(-1, self._bands),
            sought=sought,
            extent=np.array(self._extents, np.int16),
            block=self._first_block(),
            tear_rows=TearRows(tears[0].astype(np.int64), tears[1], tears[2], tears[3]),
            notes=tuple(self._bars.notes(self._row_step)),
        )
