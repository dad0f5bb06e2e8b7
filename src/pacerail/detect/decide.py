"""Deciding a part: a verdict for every refresh, a tear row for every flip.

What comes after a refresh says as much about it as what came before.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from pacerail.detect.coded_rows import without_coded_rows
from pacerail.detect.coding import coarsest_step, quantiser_ceiling, starved
from pacerail.detect.found import FoundFlips
from pacerail.detect.lone import follow_tears
from pacerail.detect.own_clock import OwnClock, own_clock
from pacerail.detect.own_range import distance_in_range
from pacerail.detect.pace import paced_flips
from pacerail.detect.part import Layout, Part
from pacerail.detect.steady import steady_tears
from pacerail.detect.stretches import torn_stretches
from pacerail.detect.tears import SILENT, band_evidence, flips_in_stretch
from pacerail.detect.thresholds import ONE_CLUSTER_LIMIT, Thresholds, change_thresholds
from pacerail.detect.unseen import shown_next, unseen_rows
from pacerail.record import Verdict
from pacerail.scanout import scan_out_of_height

ECHO_DROP, MOST_ECHO = 0.6, 1.0
"""Octaves. What stands out above the threshold by less than half of what it lies below both
its neighbours, less the first value, is the echo of a frame in a held picture, as coding
refines it late; the second value bounds that half. Without a known noise level, what lies
below both by the first value could be either."""
LEAST_SEPARATION, FAINTEST = 1.75, -2.0
"""Octaves: where noise and motion lie less apart, or only one of them shows, a change between the
second value and the threshold for such captures may be noise, or frames that hardly differ."""
MOST_BELOW_WHOLE = 1.2
"""Octaves by which a threshold of bands may lie below that of the picture."""
FOOT_REACH, STILL_REACH, LEAST_FOOT = 15, 1, 1 / 30
"""Refreshes to each side in which the foot of the picture stands still, as a panel or a dashboard
does; those in which it does so by chance; and its least share of the height."""
AGREED_SHARE = 1 / 120
"""Share of the height within which two ways to tell a row agree."""
COARSE_BANDS = 6
"""Bands that share a threshold: few enough to follow the scene, enough to learn from."""
LEAST_APART = 2.1
"""Octaves between noise and motion of such bands from which their thresholds are used where the
picture as a whole shows only one of them."""

_SMALLEST = 0.02  # code values; keeps the logarithm of an exact repeat finite


@dataclass(frozen=True, eq=False)
class Decided:
    """Decisions on m refreshes that follow each other, as columns."""

    layout: Layout
    refresh: NDArray[np.int64]
    pts: NDArray[np.int64]
    verdict: NDArray[np.uint8]
    octaves: NDArray[np.float64]
    """How far the change lies from the decision, above 0 if new."""
    flip_refresh: NDArray[np.int64]
    """(flips,) the refresh that each falls in."""
    tear_row: NDArray[np.float64]
    """(flips,) in rows of these pictures."""
    unseen_row: NDArray[np.float64]
    """(flips,) the same where no tear can be seen but one must be."""
    alone: OwnClock | None
    notes: tuple[str, ...]


def decide(part: Part, *, is_lossy: bool = False) -> Decided:
    """Verdicts and flips of the refreshes that a part decides.

    is_lossy : True where coding is known to lose something.
    """
    tear_rows = without_coded_rows(part.tear_rows, part.layout.row_step)
    part = replace(part, tear_rows=tear_rows)
    compared = part.compared
    strongest = np.log2(part.strongest + _SMALLEST)
    coarsest = coarsest_step(part.quantiser_step)
    quantised = quantiser_ceiling(coarsest)
    kinds = part.is_intra, part.is_bidirectional
    whole = change_thresholds(strongest[:, None], compared, *kinds, quantised, is_lossy=is_lossy)
    octaves = strongest - whole.threshold[:, 0]
    beside = np.pad(strongest, 1, constant_values=-np.inf)
    drop = np.minimum(beside[:-2], beside[2:]) - strongest
    echo = np.clip((drop - ECHO_DROP) / 2, 0, MOST_ECHO)
    octaves -= np.where(strongest > quantised, 0, echo)
    clean = np.flatnonzero(compared & (octaves > 0))
    flips = FoundFlips.of(clean, np.zeros(len(clean)))
    bands = np.log2(part.bands.astype(np.float64) + _SMALLEST)
    distance = _band_distance(bands, whole, part, quantised, is_lossy=is_lossy)
    evidence = band_evidence(distance + part.motion_octaves, compared)
    period_rows = part.layout.rows / scan_out_of_height(part.layout.rows).active_fraction
    is_torn = np.zeros(len(compared), bool)
    for first, end in torn_stretches(part, evidence):
        is_torn[first:end] = True
        found = flips_in_stretch(part, evidence, period_rows, (first, end))
        flips = flips.kept((flips.place < first) | (flips.place >= end)) + FoundFlips.of(*found)
    flips = shown_next(flips, _end_row(part.layout, evidence, FOOT_REACH), period_rows)
    is_still = compared & (octaves <= 0)
    is_paced, paced_place, paced_row = paced_flips(part, evidence, is_still, period_rows)
    steady_row = steady_tears(part, evidence, is_paced)
    row = np.where(is_torn[flips.place], flips.row, steady_row[flips.place])
    flips = replace(flips, row=row).kept(~is_paced[flips.place])
    flips = (flips + FoundFlips.of(paced_place, paced_row)).in_order()
    is_settled = is_paced | (steady_row > 0)
    followed = follow_tears(part, evidence, flips, is_torn, is_settled, period_rows)
    flips = (flips.kept(followed.has_room) + followed.added).in_order()
    is_torn |= is_paced
    is_torn[followed.added.place] = True
    tear_row, unseen_row = _told_rows(part, flips, evidence, period_rows)
    verdict = np.full(len(compared), Verdict.HELD, np.uint8)
    verdict[flips.place] = Verdict.NEW
    verdict[~compared] = Verdict.FIRST
    # Where the rows decide against the size of the change, its size still says how sure.
    octaves = np.where(verdict == Verdict.NEW, np.abs(octaves), -np.abs(octaves))
    octaves[~compared] = 0
    if whole.separation == 0:
        octaves[~is_torn & (drop > ECHO_DROP)] = 0
    if whole.separation < LEAST_SEPARATION:
        is_faint = (strongest > FAINTEST) & (strongest < ONE_CLUSTER_LIMIT)
        octaves[~is_torn & is_faint] = 0
    octaves[starved(coarsest, part.strongest) & (verdict == Verdict.NEW)] = 0
    here = part.decided
    inside = (flips.place >= here.start) & (flips.place < here.stop)
    is_new = verdict[here] == Verdict.NEW
    return Decided(
        layout=part.layout,
        refresh=part.refresh[here],
        pts=part.pts[here],
        verdict=verdict[here],
        octaves=octaves[here],
        flip_refresh=part.refresh[flips.place[inside]],
        tear_row=tear_row[inside],
        unseen_row=unseen_row[inside],
        alone=own_clock(part.extent[here], is_new, part.layout.block),
        notes=part.notes,
    )


def _end_row(layout: Layout, evidence: NDArray[np.float64], reach: int) -> NDArray[np.float64]:
    """(n,) end of the rows that change within `reach` refreshes; a foot below stands still."""
    band = np.arange(1, evidence.shape[1] + 1)
    end_band = np.where(evidence > SILENT, band, 0).max(axis=1)
    nearby = sliding_window_view(np.pad(end_band, reach), 2 * reach + 1).max(axis=1)
    end_row = layout.band_rows[nearby]
    has_foot = (nearby > 0) & (end_row <= (1 - LEAST_FOOT) * layout.band_rows[-1])
    result: NDArray[np.float64] = np.where(has_foot, end_row, layout.band_rows[-1])
    return result


def _told_rows(
    part: Part, flips: FoundFlips, evidence: NDArray[np.float64], period_rows: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """(m,) rows of the tears that can be seen, and of those that cannot, 0 elsewhere.

    Where nothing tells a row between two others, the pace does, or it is in their middle; one
    that bands and pace agree on can be seen.
    """
    told_row = np.where(flips.is_vague, 0, flips.row)
    first_row = part.layout.band_rows[part.extent[flips.place, 0]]
    last_row = np.where(flips.is_vague, flips.between[:, 1] - 1, first_row)
    foot = _end_row(part.layout, evidence, STILL_REACH)[flips.place]
    has_foot = (foot < part.layout.band_rows[-1]) & ~flips.is_vague
    earliest_row = np.where(has_foot, foot - period_rows, 0)
    unseen_row = unseen_rows(flips.place, told_row, last_row, earliest_row, period_rows)
    # Where the pace comes to the row that the bands would tell, both are right.
    is_near = np.abs(unseen_row - flips.row) <= AGREED_SHARE * part.layout.rows
    is_agreed = flips.is_vague & (unseen_row != 0) & is_near
    is_amiss = flips.is_vague & (unseen_row <= flips.between[:, 0])
    unseen_row = np.where(is_amiss, flips.row, unseen_row)
    unseen_row = np.where(flips.midway != 0, flips.midway, unseen_row)
    unseen_row = np.maximum(unseen_row, 1 - part.layout.rows)
    return np.where(is_agreed, flips.row, told_row), np.where(is_agreed, 0, unseen_row)


def _band_distance(
    bands: NDArray[np.float64],
    whole: Thresholds,
    part: Part,
    ceiling: NDArray[np.float64],
    *,
    is_lossy: bool,
) -> NDArray[np.float64]:
    """(n, bands) octaves above thresholds, which are learned by groups of bands and kept near that
    of the picture. Where neither shows two clusters, each band is its own measure.
    """
    count = bands.shape[1]
    groups = -(-count // COARSE_BANDS)
    # The last group may be short: bands before it make it whole.
    members = np.minimum(np.arange(groups)[:, None] * COARSE_BANDS, max(count - COARSE_BANDS, 0))
    members = np.minimum(members + np.arange(COARSE_BANDS), count - 1)
    strongest = np.sort(bands[:, members], axis=2)[:, :, -2:].mean(axis=2)
    kinds = part.is_intra, part.is_bidirectional
    coarse = change_thresholds(strongest, part.compared, *kinds, ceiling, is_lossy=is_lossy)
    if whole.separation == 0 and coarse.separation < LEAST_APART:
        return distance_in_range(bands, part.compared)
    group_of_band = np.arange(count) // COARSE_BANDS
    # Where every refresh is torn no picture is held as a whole, and its threshold means little.
    highest = coarse.threshold.max(axis=1, keepdims=True)
    lowest = np.minimum(whole.threshold, highest) - MOST_BELOW_WHOLE
    distance: NDArray[np.float64] = bands - np.maximum(coarse.threshold[:, group_of_band], lowest)
    return distance
