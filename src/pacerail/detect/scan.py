"""The pass over the pictures: the only place of the detector that keeps state.

What stays of each refresh is its change, band by band, and the rows at which it may be
torn: a few hundred bytes, and those only until it is decided.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from pacerail.detect.alert import Alert
from pacerail.detect.bars import BarFinder
from pacerail.detect.blocks import BLOCK_COLUMNS
from pacerail.detect.change import BAND_ROWS, ChangeMeter
from pacerail.detect.mirror import Profile, mirror_rows, parting_rows
from pacerail.detect.part import Columns, Layout, Part, Refresh
from pacerail.detect.seam import Seam, SeamFinder
from pacerail.detect.texture import motion_octaves
from pacerail.picture import Picture
from pacerail.region import Region
from pacerail.scanout import scan_out_of_height

LARGE_ROWS, LARGE_STEP = 1080, 3
"""Pictures of the first height and more are looked at in every third row: in them, what can be seen
covers rows enough. (On 20 clips of 720 and 1080 lines one verdict in 500 differs from that of twice
the rows. With every sixth row of 2160, seams are lost among what differs from one to the next: of
985 tears in 10 clips 0.82 are found, with every third 0.98.)"""
CERTAIN_SEAM = 0.3
"""A seam that is a sign of tears; without tears it comes in 1 of 60 refreshes of the worst
content, a flight through a corridor, and in none of most."""
STRONG_MIRROR = 1.5
"""Octaves from which a mirror tells that the rest of this refresh is held or changed, and that of
the next completed or held: no seam is looked for, as none would tell more."""
HELD_SHARE = 0.25
"""Share of its change at the tear that a band below it may still show in the next refresh: with
more another frame tears there."""
SEEN_CHANGE = 1.0
"""Code values: a refresh that changes less than this shows no tear that could be found."""
SAME_ROW = 8
"""Rows within which a mirror and a seam are the same tear."""
EDGE_REACH = 12
"""Rows from an edge between bands at which a tear that the bands tell may lie: coding in squares
of 16 lets what is held in one with the tear change a little as well."""
CUT_RATIO = 3.0
"""A refresh that changes this many times as much as both its neighbours follows a cut."""


def scan(
    pictures: Iterable[Picture], watch: Region | None, ignore: Sequence[Region]
) -> Iterator[Part]:
    """Parts of a capture, each when enough has been seen of what follows it.

    A change of picture size or depth starts anew.
    """
    run: _Run | None = None
    for picture in pictures:
        if run is None or not run.goes_on_with(picture):
            if run is not None:
                yield run.finish()
            run = _Run(picture, watch, ignore)
        run.add(picture)
        if run.columns.is_due:
            yield run.columns.take(is_last=False)
    if run is not None:
        yield run.finish()


class _Run:
    """Pictures of one size while they arrive; holds on to the last two."""

    def __init__(self, first: Picture, watch: Region | None, ignore: Sequence[Region]) -> None:
        self._shape, self._bit_depth = first.luma.shape, first.bit_depth
        self._row_step = _row_step(first.luma.shape[0])
        rows, columns = first.luma[:: self._row_step].shape
        self._meter = ChangeMeter(rows, columns, first.bit_depth, watch, ignore)
        self._seams = SeamFinder(self._meter.window, first.bit_depth)
        self._bars = BarFinder(rows, columns, first.bit_depth)
        self.columns = Columns(self._layout(rows, columns))
        self._no_bands = bytes(2 * (self._meter.rows // BAND_ROWS))
        self._last: list[tuple[Picture, Profile | None]] = []
        self._rows_of_last = deque(np.empty((rows, columns), first.luma.dtype) for _ in range(3))
        period_rows = self._meter.rows / scan_out_of_height(first.luma.shape[0]).active_fraction
        self._alert = Alert(self._meter.rows, period_rows)
        self._is_explained = False

    def goes_on_with(self, picture: Picture) -> bool:
        """Whether a picture can be compared with those before it."""
        return picture.luma.shape == self._shape and picture.bit_depth == self._bit_depth

    def add(self, picture: Picture) -> None:
        """Measure the change from the picture before and look for tears in that one."""
        picture = self._own(picture)
        self._bars.look(picture.luma)
        change = None
        if self._last and picture.refresh == self._last[-1][0].refresh + 1:
            change = self._meter.measure(self._last[-1][0].luma, picture.luma)
        self.columns.add(
            Refresh(
                refresh=picture.refresh,
                pts=picture.pts,
                compared=change is not None,
                is_intra=picture.picture_type == "I",
                is_bidirectional=picture.picture_type == "B",
                quantiser_step=picture.quantiser_step,
                strongest=0.0 if change is None else change.strongest,
                extent=(0, 0, 0, 0) if change is None else change.extent,
                bands=self._no_bands
                if change is None
                else change.bands.astype(np.float16).tobytes(),
            )
        )
        profile = None if change is None else Profile(change)
        if len(self._last) == 2:
            self._look_for_tears(self._last[0], self._last[1], (picture, profile))
        self._last = [*self._last[-1:], (picture, profile)]

    def _own(self, picture: Picture) -> Picture:
        """The rows to look at, copied: close together they are read three times as fast, and
        the decoder has its picture back. They hold until the second next picture is gone."""
        rows = self._rows_of_last[0]
        self._rows_of_last.rotate(-1)
        np.copyto(rows, picture.luma[:: self._row_step])
        return replace(picture, luma=rows, owner=None)

    def _look_for_tears(
        self,
        before: tuple[Picture, Profile | None],
        torn: tuple[Picture, Profile | None],
        after: tuple[Picture, Profile | None],
    ) -> None:
        profile, following = torn[1], after[1]
        if profile is None or following is None:
            return
        if min(profile.change.strongest, following.change.strongest) < SEEN_CHANGE:
            return  # a tear changes its own refresh and the one that completes it
        place = self.columns.end - 2
        mirrors = list(zip(*mirror_rows(profile, following), strict=True))
        seams: list[Seam] = []
        is_explained, self._is_explained = self._is_explained, False
        if mirrors or (self._alert.is_on(place) and not is_explained):
            self._note_bands(place, before[0], torn[0], profile, following)
            if mirrors and mirrors[0][1] > STRONG_MIRROR:
                self._is_explained = _is_held_below(int(mirrors[0][0]), profile, following)
            else:
                beside = [p.change.levels.mean() for p in (before[1], following) if p is not None]
                after_cut = bool(profile.change.levels.mean() > CUT_RATIO * max(beside))
                pictures = before[0], torn[0], after[0]
                seams = self._seams.rows(*pictures, after_cut=after_cut)
        self._alert.note(place, seams, is_torn=bool(mirrors))
        for row, octaves in mirrors:
            near = [seam for seam in seams if abs(seam.row - row) <= SAME_ROW]
            seams = [seam for seam in seams if abs(seam.row - row) > SAME_ROW]
            best = max(near, key=lambda seam: seam.strength, default=Seam(row))
            # The mirror knows the row better.
            self._add_tear(place, replace(best, row=row), float(octaves))
        for seam in seams:
            self._add_tear(place, seam, 0.0)

    def _note_bands(
        self, place: int, before: Picture, picture: Picture, profile: Profile, following: Profile
    ) -> None:
        """Keep what the pictures say of bands that may be torn."""
        window = self._meter.window
        octaves = motion_octaves(before.luma[window], picture.luma[window], profile.change)
        edge = np.arange(1, len(octaves)) * BAND_ROWS
        shift = parting_rows(edge, EDGE_REACH, profile, following) - edge
        self.columns.add_sought(
            place, octaves.astype(np.float16).tobytes(), shift.astype(np.int8).tobytes()
        )

    def _add_tear(self, place: int, seam: Seam, octaves: float) -> None:
        row = self._picture_row(seam.row)
        self.columns.add_tear(
            place, row, octaves, seam.alone, seam.joint, stands_out=seam.stands_out
        )

    def _picture_row(self, row: int) -> float:
        """Row of the picture at which what starts with a row of the window starts.

        The middle of the rows between two that were looked at.
        """
        top = int(self._meter.window[0].start)
        return float((row + top) * self._row_step - (self._row_step - 1) / 2)

    def _layout(self, rows: int, columns: int) -> Layout:
        """How pictures are divided; `rows` are those looked at, `columns` all."""
        bands = self._meter.rows // BAND_ROWS
        top, left = (side.start for side in self._meter.window)
        edges = np.arange(bands + 1, dtype=float) * BAND_ROWS
        edges[-1] = self._meter.rows
        return Layout(
            rows=self._shape[0],
            row_step=self._row_step,
            band_rows=(edges + top) * self._row_step,
            block=Region(left / columns, top / rows, BLOCK_COLUMNS / columns, BAND_ROWS / rows),
        )

    def finish(self) -> Part:
        """What is left when the last picture has been seen."""
        return self.columns.take(is_last=True, notes=self._bars.notes(self._row_step))


def _is_held_below(row: int, profile: Profile, following: Profile) -> bool:
    """Whether no band below a tear changes again in the refresh after it."""
    first = row // BAND_ROWS + 1
    changed, again = profile.change.levels[first:], following.change.levels[first:]
    return bool((again <= HELD_SHARE * changed.mean()).all()) if len(changed) else True


def _row_step(rows: int) -> int:
    """Rows of the picture for each row looked at."""
    return LARGE_STEP if rows >= LARGE_ROWS else 1
