"""Where noise ends and change begins, learned from the capture itself.

Changes are compared in octaves, as codec noise and motion both scale. Held pictures and
new frames form two clusters whose levels drift along the capture: noise follows the
quantiser and what has just moved, motion follows the scene. Each refresh is therefore
judged against the levels of its own neighbourhood, found by alternating between
labelling refreshes and averaging the labelled ones.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from pacerail.detect.alternation import alternates, nearly_above, parted_by_turns
from pacerail.detect.neighbours import around

Floats: TypeAlias = NDArray[np.float64]
Mask: TypeAlias = NDArray[np.bool_]

# In code values per sample of the strongest blocks. On H.264, HEVC and AV1 at crf 16 to 28
# hardly a held picture changed by more than 12 (measured); a change of one code in eight samples
# of a block is what the smallest moving thing makes in a lossless capture.
CERTAIN_MOTION = float(np.log2(14.0))
CERTAIN_NOISE = float(np.log2(0.06))
EXACT_REPEAT = float(np.log2(0.05))
"""Held refreshes all below this come from a lossless capture, where any change is one."""
LEAST_CODING_NOISE = float(np.log2(0.12))
"""A lossy coder that skips a picture repeats it exactly, which says nothing about the noise
of those that it does not skip."""
ECHO_OCTAVES, ECHO_LIMIT = 2.0, 3.0
"""An echo is this much weaker than the changes beside it, and no stronger than this."""
ONE_CLUSTER_LIMIT = float(np.log2(0.8))
"""Lowest threshold of a lossy capture; the threshold where it shows only one cluster."""
FEWEST_OCTAVES, FEWEST_SPREADS = 1.75, 3.0
"""Clusters closer together than this, in octaves and in their own spread, are one: changes
of unsteady motion scatter as far."""
SCATTER_OCTAVES = 1.2
"""How far steady noise scatters above its median."""
LEAST_STEP = 0.7
"""Octaves by which noise stays below the motion around it at the bit rates that can be
measured at all."""
FEWEST_TRUSTED = 5
"""Held refreshes right beside motion from which its noise is learned; where there are fewer, as
where motion pauses once, all that look held are taken with them."""
INTRA_OCTAVES = 1.0
"""Extra noise of an I picture among others: it codes the whole picture anew."""
BEFORE_INTRA, AFTER_INTRA, REST = 6, 4, 8
"""Refreshes before and after an I picture that its coding may disturb, B pictures that refer to it
among them, and those to each side in which nothing else changes where a screen is held for long."""
CONTRAST_OCTAVES = 1.5
"""Spread within a neighbourhood from which a first guess is taken."""
SHARP_OCTAVES = 1.2
"""A held picture stands out from the frame beside it by at least this much; slow motion
that swells and fades does not."""
JOIN_OCTAVES = 2.0
"""How far below the threshold such motion may lie."""
TOLD_MARGIN = 0.35
"""Octaves that a change lies above the threshold at least if a pattern shows it to be new."""
GUESSED_OCTAVES = 6.0
"""Most that noise is first guessed to lie below motion: a picture that coding skips lies further
below, and says nothing of those that it does not skip."""
NEIGHBOURS = 8
"""Refreshes to each side of a first guess: a third of a second holds both a new and a
held refresh at any rate from 8 frames per second up."""
MAX_ROUNDS = 12
"""Labels settle within five rounds or swing between two states."""

_EMPTY = 1e-200  # below any weight the exponential window can give


@dataclass(frozen=True, eq=False)
class Thresholds:
    """Result of `change_thresholds`."""

    threshold: Floats
    """(n, bands) octaves; a change above it is a change of content."""
    separation: float
    """Octaves between noise and motion; 0 where the capture shows only one of them."""


def change_thresholds(
    change: Floats,
    compared: Mask,
    is_intra: Mask,
    is_bidirectional: Mask,
    ceiling: Floats | float = np.inf,
    *,
    is_lossy: bool = False,
) -> Thresholds:
    """Thresholds between noise and motion for each refresh and band.

    change : (n, bands) log2 of the change in code values; rows that were not compared
        with a predecessor may hold anything.
    compared, is_intra, is_bidirectional : (n,) of which the last two tell I and B pictures.
    ceiling : (n,) octaves above which a change is one of content, whatever was learned.
    is_lossy : True where coding is known to lose something.
    """
    bump = np.where(is_intra & ~is_intra.all(), INTRA_OCTAVES, 0.0)[:, None]
    level = np.where(compared[:, None], change - bump, np.nan)
    level = _fill(level, compared)
    if is_lossy:
        level = np.maximum(level, LEAST_CODING_NOISE)
    echoes = _echoes(level)
    ceiling = np.broadcast_to(ceiling, len(level))[:, None]
    weight = compared.astype(float)[:, None]
    alternating = alternates(level, is_bidirectional)
    highest, lowest = _range_nearby(level)
    threshold = _first_guess(highest, lowest, weight)
    is_motion = level > threshold
    separation = spreads = 0.0
    earlier: list[Mask] = []
    for _ in range(MAX_ROUNDS):
        update = _refine(level, is_motion, echoes, weight, highest)
        if update is None:
            separation = 0.0
            break
        threshold, separation, spreads = update
        threshold = np.minimum(threshold, ceiling)
        labels = _join_slow_motion(level, threshold, alternating)
        settled = any(np.array_equal(labels, old) for old in earlier[-3:])
        earlier.append(labels)
        is_motion = labels & ~echoes
        if settled:
            break
    if separation < FEWEST_OCTAVES and spreads < FEWEST_SPREADS:
        separation = 0.0
    if separation == 0.0 and not alternating.any():
        return Thresholds(np.full_like(level, ONE_CLUSTER_LIMIT) + bump, 0.0)
    if separation == 0.0:
        threshold = np.where(alternating, threshold, ONE_CLUSTER_LIMIT)
    # Refreshes joined to slow motion lie below the threshold: lower it for them.
    threshold = np.where(is_motion, np.minimum(threshold, level - 1e-6), threshold)
    if is_lossy and separation > 0 and not is_intra.all():
        usual = _usual_beside_intra(threshold, (level > threshold) & compared[:, None], is_intra)
        threshold = np.maximum(threshold, np.minimum(usual, ceiling))
    is_told = parted_by_turns(level, compared, is_bidirectional)
    is_told |= alternating & nearly_above(level, threshold)
    threshold = np.where(is_told, np.minimum(threshold, level - TOLD_MARGIN), threshold)
    return Thresholds(threshold + bump, separation)


def _fill(level: Floats, compared: Mask) -> Floats:
    """Uncompared rows repeat the next compared one, or the last."""
    index = np.flatnonzero(compared)
    if not len(index):
        return np.full_like(level, CERTAIN_NOISE)
    nearest = index[np.minimum(np.searchsorted(index, np.arange(len(level))), len(index) - 1)]
    return level[nearest]


def _range_nearby(level: Floats) -> tuple[Floats, Floats]:
    """Highest and lowest level within `NEIGHBOURS` refreshes to each side."""
    padded = np.pad(level, ((NEIGHBOURS, NEIGHBOURS), (0, 0)), mode="edge")
    windows = sliding_window_view(padded, 2 * NEIGHBOURS + 1, axis=0)
    return windows.max(axis=-1), windows.min(axis=-1)


def _first_guess(highest: Floats, lowest: Floats, weight: Floats) -> Floats:
    """Middle of the local range where it is wide enough, spread to the rest."""
    highest = np.maximum(highest, CERTAIN_NOISE)
    has_contrast = (highest - lowest > CONTRAST_OCTAVES) & (lowest < CERTAIN_MOTION)
    seen = has_contrast * weight
    middle = (highest + np.maximum(lowest, highest - GUESSED_OCTAVES)) / 2
    total, mass = around(middle * seen), around(seen)
    pooled = total.sum(axis=1, keepdims=True) / np.maximum(mass.sum(axis=1, keepdims=True), _EMPTY)
    if not has_contrast.any():
        pooled = np.full_like(pooled, np.log2(1.2))
    guess: Floats = (total + 0.3 * pooled) / (mass + 0.3)
    return guess.clip(CERTAIN_NOISE, CERTAIN_MOTION)


def _refine(
    level: Floats, is_motion: Mask, echoes: Mask, weight: Floats, highest: Floats
) -> tuple[Floats, float, float] | None:
    """Thresholds from labels, and how far the clusters lie apart in octaves and in spreads.

    None where only one cluster is left.
    """
    motion, noise = is_motion * weight, ~is_motion * weight
    if not motion.any() or not noise.any():
        return None
    motion_mass, noise_mass = around(motion), around(noise)
    motion_level = around(motion * level) / np.maximum(motion_mass, _EMPTY)
    noise_level = around(noise * level) / np.maximum(noise_mass, _EMPTY)
    # Levels over all bands, for bands that know only one of the two.
    pooled_noise = (noise_level * noise_mass).sum(axis=1, keepdims=True) / np.maximum(
        noise_mass.sum(axis=1, keepdims=True), _EMPTY
    )
    support = np.minimum(motion_mass, noise_mass)
    known = support > 0.5
    if not known.any():
        return None
    separation = float(np.average((motion_level - noise_level)[known], weights=support[known]))
    step = float(np.clip(separation, 1.6, 6.0))
    motion_level = np.where(
        motion_mass > 1e-6, motion_level, np.maximum(pooled_noise, noise_level) + step
    )
    noise_level = (noise_level * noise_mass + 0.5 * pooled_noise + 0.5 * (motion_level - step)) / (
        noise_mass + 1
    )
    noise_level = np.clip(noise_level, motion_level - 1.5 * step, motion_level - 0.6 * step)
    is_noise = noise > 0
    noise_spread = np.sqrt(np.mean((level - noise_level)[is_noise] ** 2) + 0.06)
    motion_spread = np.sqrt(np.mean((level - motion_level)[motion > 0] ** 2) + 0.06)
    share = np.clip(noise_spread / (noise_spread + motion_spread), 0.4, 0.65)
    threshold = noise_level + share * (motion_level - noise_level)
    trusted = level[_surely_held(level, is_motion, is_noise) | echoes]
    if not len(trusted):
        return None
    if len(trusted) < FEWEST_TRUSTED:
        trusted = level[is_noise]
    # What a large change leaves to be refined fades with it: where nothing nearby changes
    # more, noise is no stronger than in most of the held refreshes, scatter included.
    is_lossy = np.quantile(trusted, 0.9) > EXACT_REPEAT
    lowest = ONE_CLUSTER_LIMIT if is_lossy else CERTAIN_NOISE
    quiet = max(float(np.median(trusted)) + SCATTER_OCTAVES, lowest)
    unrest = np.maximum(highest - 1, quiet)
    ceiling = np.minimum(np.quantile(trusted, 0.98) + 0.8, unrest)
    ceiling = np.minimum(ceiling, np.maximum(motion_level - LEAST_STEP, quiet))
    threshold = np.clip(np.minimum(threshold, ceiling), lowest, CERTAIN_MOTION)
    return threshold, separation, separation / float(np.hypot(noise_spread, motion_spread))


def _surely_held(level: Floats, is_motion: Mask, is_noise: Mask) -> Mask:
    """Held refreshes right beside a much larger change."""
    beside = np.where(is_motion, level, -np.inf)
    beside = np.pad(beside, ((1, 1), (0, 0)), constant_values=-np.inf)
    drop = np.maximum(beside[:-2], beside[2:]) - level
    held: Mask = is_noise & (drop > SHARP_OCTAVES) & (level < np.log2(8.0))
    return held


def _echoes(level: Floats) -> Mask:
    """Changes far below those of both neighbours: what coding adds late to a frame.

    A program seldom moves a lot, a little and a lot again.
    """
    outside = np.full((1, level.shape[1]), -np.inf)
    beside = np.minimum(np.concatenate([outside, level[:-1]]), np.concatenate([level[1:], outside]))
    echoes: Mask = (level < beside - ECHO_OCTAVES) & (level < ECHO_LIMIT)
    return echoes


def _join_slow_motion(level: Floats, threshold: Floats, alternating: Mask) -> Mask:
    """Labels above the threshold, and below it where no sharp step parts them from motion.

    A held picture stands out from the frames beside it; motion that slows down, or that
    coding renders now more and now less exactly, does not.
    """
    labels = level > threshold
    candidate = (level > np.maximum(threshold - JOIN_OCTAVES, 0.0)) & ~alternating
    outside = np.full((1, level.shape[1]), -np.inf)
    while True:
        beside = np.concatenate([outside, np.where(labels, level, -np.inf), outside])
        louder = np.maximum(beside[:-2], beside[2:])
        joins = ~labels & candidate & (louder > -np.inf) & (louder - level < SHARP_OCTAVES)
        if not joins.any():
            return labels
        labels = labels | joins


def _usual_beside_intra(threshold: Floats, is_motion: Mask, is_intra: Mask) -> Floats:
    """(n, bands) usual threshold beside an I picture of a held screen, -infinity elsewhere.

    There the coding is all that changes, so it looks large for want of anything to compare it with.
    """
    n = len(is_intra)
    beside = np.flatnonzero(is_intra)[:, None] + np.arange(-BEFORE_INTRA, AFTER_INTRA + 1)
    is_beside = np.zeros((n, 1), bool)
    is_beside[beside.clip(0, n - 1)] = True
    elsewhere = is_motion & ~is_beside
    padded = np.pad(elsewhere, ((REST, REST), (0, 0)))
    is_still = ~sliding_window_view(padded, 2 * REST + 1, axis=0).any(axis=-1)
    usual = [
        np.median(of_band[moves]) if moves.any() else -np.inf
        for of_band, moves in zip(threshold.T, elsewhere.T, strict=True)
    ]
    result: Floats = np.where(is_beside & is_still, usual, -np.inf)
    return result
