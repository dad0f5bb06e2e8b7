"""The detector: pictures in, a verdict for every refresh and a tear row for every flip out.

One pass over the pictures keeps a few hundred bytes per refresh; the decisions are taken
when the last picture has been seen, since what comes after a refresh says as much about
it as what came before.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from pacerail.detect.change import BAND_ROWS, ChangeMeter
from pacerail.detect.mirror import mirror_rows
from pacerail.detect.tears import MirrorRows, flips_in_stretch, torn_stretches
from pacerail.detect.thresholds import Thresholds, change_thresholds
from pacerail.picture import Picture
from pacerail.record import Verdict
from pacerail.region import Region
from pacerail.scanout import scan_out_of_height

DETECTOR_VERSION = 1
MARGIN_LIMIT = 0.3
"""Octaves: a change within a quarter of the threshold could as well be on its other side."""
COARSE_BANDS = 6
"""Bands that share a threshold: few enough to follow the scene, enough to learn from."""

_SMALLEST = 0.02  # code values; keeps the logarithm of an exact repeat finite


@dataclass(frozen=True)
class DetectorSettings:
    """What the user may say about a capture."""

    watch: Region | None = None
    """The only part of the picture that counts."""
    ignore: tuple[Region, ...] = ()
    """Parts of the picture that do not count."""


@dataclass(frozen=True, eq=False)
class Detection:
    """Columns as in `pacerail.record.TimingRecord`."""

    pts: NDArray[np.int64]
    verdict: NDArray[np.uint8]
    score: NDArray[np.float32]
    margin: NDArray[np.float32]
    flip_refresh: NDArray[np.int64]
    tear_row: NDArray[np.float64]
    notes: tuple[str, ...]


@dataclass
class _Part:
    """What is kept of a run of pictures of one size, while they pass."""

    first_refresh: int
    rows: int
    top: int = 0
    watched_rows: int = 0
    refresh: list[int] = field(default_factory=list)
    pts: list[int] = field(default_factory=list)
    compared: list[bool] = field(default_factory=list)
    is_intra: list[bool] = field(default_factory=list)
    strongest: list[float] = field(default_factory=list)
    bands: list[NDArray[np.float16]] = field(default_factory=list)
    mirrors: list[tuple[int, float, float]] = field(default_factory=list)


def detect(pictures: Iterable[Picture], settings: DetectorSettings) -> Detection:
    """Find the flips of a capture.

    Refreshes that `pictures` leaves out become faults. A change of picture size starts
    anew: the first picture of the new size has no predecessor.
    """
    parts: list[_Part] = []
    meter: ChangeMeter | None = None
    previous: Picture | None = None
    last_energy: NDArray[np.float32] | None = None
    for picture in pictures:
        if previous is None or picture.luma.shape != previous.luma.shape:
            rows, columns = picture.luma.shape
            meter = ChangeMeter(rows, columns, picture.bit_depth, settings.watch, settings.ignore)
            part = _Part(picture.refresh, rows, meter.window[0].start, meter.rows)
            parts.append(part)
            previous, last_energy = None, None
        assert meter is not None
        part = parts[-1]
        part.refresh.append(picture.refresh)
        part.pts.append(picture.pts)
        part.is_intra.append(picture.picture_type == "I")
        follows = previous is not None and picture.refresh == previous.refresh + 1
        part.compared.append(follows)
        if previous is not None and follows:
            change = meter.measure(previous.luma, picture.luma)
            part.strongest.append(change.strongest)
            part.bands.append(change.bands.astype(np.float16))
            if last_energy is not None:
                for row, octaves in zip(*mirror_rows(last_energy, change.row_energy), strict=True):
                    part.mirrors.append((len(part.refresh) - 2, float(row), float(octaves)))
            last_energy = change.row_energy
        else:
            part.strongest.append(0.0)
            part.bands.append(np.zeros(meter.rows // BAND_ROWS, np.float16))
            last_energy = None
        previous = picture
    return _assemble([_decide(part) for part in parts])


@dataclass(frozen=True, eq=False)
class _Decided:
    """Decisions on one part; flips refer to places in its columns."""

    part: _Part
    verdict: NDArray[np.uint8]
    octaves: NDArray[np.float64]
    flip: NDArray[np.int64]
    tear_row: NDArray[np.float64]


def _decide(part: _Part) -> _Decided:
    compared = np.array(part.compared)
    is_intra = np.array(part.is_intra)
    strongest = np.log2(np.array(part.strongest) + _SMALLEST)
    whole = change_thresholds(strongest[:, None], compared, is_intra)
    octaves = strongest - whole.threshold[:, 0]
    changed = compared & (octaves > 0)
    # Kept as the places of all flips; torn stretches replace theirs.
    flip = np.flatnonzero(changed)
    tear_row = np.zeros(len(flip))
    mirror_columns = np.array(part.mirrors, float).reshape(-1, 3).T
    mirrors = MirrorRows(mirror_columns[0].astype(np.int64), mirror_columns[1], mirror_columns[2])
    stretches = torn_stretches(mirrors, len(compared))
    if stretches:
        bands = np.log2(np.array(part.bands, np.float64) + _SMALLEST)
        thresholds = _band_thresholds(bands, whole, compared, is_intra)
        edges = np.arange(bands.shape[1] + 1, dtype=float) * BAND_ROWS
        edges[-1] = part.watched_rows
        period = part.rows / scan_out_of_height(part.rows).active_fraction
    for stretch in stretches:
        new_flip, new_row = flips_in_stretch(
            bands, thresholds, compared, mirrors, edges, period, stretch
        )
        outside = (flip < stretch[0]) | (flip >= stretch[1])
        flip = np.concatenate([flip[outside], new_flip])
        tear_row = np.concatenate([tear_row[outside], new_row])
    order = np.lexsort((tear_row, flip))
    flip, tear_row = flip[order], tear_row[order]
    tear_row = np.where(tear_row > 0, tear_row + part.top, 0.0)
    verdict = np.full(len(compared), Verdict.HELD, np.uint8)
    verdict[flip] = Verdict.NEW
    verdict[~compared] = Verdict.FIRST
    # A verdict that the rows decided against the size of the change is as sure as the
    # change is large.
    is_new = verdict == Verdict.NEW
    octaves = np.where(is_new, np.abs(octaves), -np.abs(octaves))
    octaves[~compared] = 0
    return _Decided(part, verdict, octaves, flip, tear_row)


def _band_thresholds(
    bands: NDArray[np.float64],
    whole: Thresholds,
    compared: NDArray[np.bool_],
    is_intra: NDArray[np.bool_],
) -> Thresholds:
    """Thresholds per band, learned by groups of bands and kept near that of the picture."""
    n, count = bands.shape
    groups = -(-count // COARSE_BANDS)
    padded = np.full((n, groups * COARSE_BANDS), -np.inf)
    padded[:, :count] = bands
    strongest = np.sort(padded.reshape(n, groups, COARSE_BANDS), axis=2)[:, :, -2:].mean(axis=2)
    coarse = change_thresholds(strongest, compared, is_intra)
    group_of_band = np.arange(count) // COARSE_BANDS
    lowest = whole.threshold - 1.2
    return Thresholds(np.maximum(coarse.threshold[:, group_of_band], lowest), coarse.separation)


def _assemble(decided: list[_Decided]) -> Detection:
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
            (),
        )
    refresh = np.concatenate([np.array(d.part.refresh, np.int64) for d in decided])
    first = refresh[0]
    place = refresh - first
    n = int(place[-1]) + 1
    verdict = np.full(n, Verdict.FAULT, np.uint8)
    verdict[place] = np.concatenate([d.verdict for d in decided])
    octaves = np.zeros(n)
    octaves[place] = np.concatenate([d.octaves for d in decided])
    known_pts = np.concatenate([np.array(d.part.pts, np.int64) for d in decided])
    pts = np.rint(np.interp(np.arange(n), place, known_pts)).astype(np.int64)
    pts[place] = known_pts
    flip_refresh = np.concatenate(
        [np.array(d.part.refresh, np.int64)[d.flip] - first for d in decided]
    )
    tear_row = np.concatenate([d.tear_row for d in decided])
    octaves = np.clip(octaves, -20, 20)
    notes = []
    if len(decided) > 1:
        notes.append(
            f"the picture size changes {len(decided) - 1} times; "
            "tear rows refer to the size at that time"
        )
    return Detection(
        pts,
        verdict,
        np.exp2(octaves).astype(np.float32),
        np.abs(octaves).astype(np.float32),
        flip_refresh,
        tear_row,
        tuple(notes),
    )
