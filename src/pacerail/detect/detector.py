"""The detector: pictures in, a verdict for every refresh and a tear row for every flip out.

One pass over the pictures keeps a few hundred bytes per refresh until they are decided,
then a few dozen.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from operator import attrgetter

import numpy as np
from numpy.typing import NDArray

from pacerail.detect.decide import Decided, decide
from pacerail.detect.scan import scan
from pacerail.picture import Picture
from pacerail.plural import plural
from pacerail.record import GUESS_SHARE, Verdict
from pacerail.region import Region
from pacerail.scanout import flip_refreshes, scan_out_of_height

MARGIN_LIMIT = 0.5
"""Octaves: a change less than a factor of 1.4 from the threshold could as well be on its
other side."""


@dataclass(frozen=True)
class DetectorSettings:
    """What the user may say about a capture."""

    watch: Region | None = None
    """The only part of the picture that counts."""
    ignore: tuple[Region, ...] = ()
    """Parts of the picture that do not count."""
    is_lossy: bool = False
    """The capture's coding is known to lose something."""


@dataclass(frozen=True, eq=False)
class Detection:
    """Columns as in `pacerail.record.TimingRecord`."""

    pts: NDArray[np.int64]
    verdict: NDArray[np.uint8]
    score: NDArray[np.float32]
    margin: NDArray[np.float32]
    flip_refresh: NDArray[np.int64]
    tear_row: NDArray[np.float64]
    unseen_row: NDArray[np.float64]
    notes: tuple[str, ...]


def detect(pictures: Iterable[Picture], settings: DetectorSettings) -> Detection:
    """Find the flips of a capture.

    Refreshes that `pictures` leaves out become faults. A change of picture size or
    depth starts anew: the first picture of the new size has no predecessor.
    """
    parts = scan(pictures, settings.watch, settings.ignore)
    return _assemble([decide(part, is_lossy=settings.is_lossy) for part in parts])


def _assemble(decided: list[Decided]) -> Detection:
    """Join the parts on the refresh grid; what they leave out is a fault."""
    if not decided:
        empty = np.empty(0)
        return Detection(
            empty.astype(np.int64),
            empty.astype(np.uint8),
            empty.astype(np.float32),
            empty.astype(np.float32),
            empty.astype(np.int64),
            empty,
            empty,
            (),
        )
    refresh = np.concatenate([d.refresh for d in decided])
    first = refresh[0]
    place = refresh - first
    n = int(place[-1]) + 1
    verdict = np.full(n, Verdict.FAULT, np.uint8)
    verdict[place] = np.concatenate([d.verdict for d in decided])
    octaves = np.zeros(n)
    octaves[place] = np.concatenate([d.octaves for d in decided])
    known_pts = np.concatenate([d.pts for d in decided])
    pts = np.rint(np.interp(np.arange(n), place, known_pts)).astype(np.int64)
    pts[place] = known_pts
    flip_refresh = np.concatenate([d.flip_refresh for d in decided]) - first
    rows = decided[0].layout.rows
    tear_row, unseen_row = (
        np.concatenate([of(d) * (rows / d.layout.rows) for d in decided])
        for of in (attrgetter("tear_row"), attrgetter("unseen_row"))
    )
    # Of two parts that meet each tells its own flips.
    moment = flip_refreshes(flip_refresh, tear_row + unseen_row, rows, scan_out_of_height(rows))
    unseen_row[(unseen_row < 0) & (np.diff(moment, prepend=-np.inf) <= 0)] = 0
    octaves = np.clip(octaves, -20, 20)
    notes = [note for d in decided for note in d.notes]
    alone = [d.alone for d in decided if d.alone is not None]
    if alone:
        notes.append(max(alone, key=lambda place: place.changes).note)
    sizes = sum(a.layout is not b.layout for a, b in pairwise(decided))
    if sizes:
        notes.append(
            f"the picture size or depth changes {sizes} times; tear rows are scaled to the first"
        )
    blanking_rows = rows / scan_out_of_height(rows).active_fraction - rows
    unseen = int(((unseen_row > 0) | (unseen_row < -blanking_rows)).sum())
    if unseen:
        notes.append(
            f"{plural(unseen, 'frame')} of {len(flip_refresh)} tore where nothing shows it, in a "
            "plain sky or on a panel for instance; the pace of those beside says when, "
            "or it is taken to be midway"
        )
    judged = (verdict == Verdict.NEW) | (verdict == Verdict.HELD)
    doubtful = int((judged & (np.abs(octaves) < MARGIN_LIMIT)).sum())
    if doubtful >= GUESS_SHARE * n:
        notes.append(
            f"too little is left of {doubtful} of {n} refreshes to tell new from held: "
            "the figures are guesses; record with more bits, or watch a livelier part"
        )
    return Detection(
        pts,
        verdict,
        np.exp2(octaves).astype(np.float32),
        np.abs(octaves).astype(np.float32),
        flip_refresh,
        tear_row,
        unseen_row,
        tuple(notes),
    )
