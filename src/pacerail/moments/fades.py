"""Fades to and from black or white: a ramp of light between a picture and a plain one.

A fade multiplies the light of a picture by a ramp, so the mean light above black (or below
white) is the ramp times that of the scene, which may drift while it lasts. Both ends of the
ramp are fitted by least squares, once as a straight line and once with eased ends, so that
coding that swallows a single small step does not move them. An eased ramp sets in so slowly
that its first pictures are those before it, code for code: what counts is what can be seen.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil, floor, sqrt

import numpy as np
from numpy.typing import NDArray

from pacerail.moments.spans import Levels
from pacerail.runs import runs

Light = NDArray[np.float64]

# Mean light of a plain picture, in code values above black or below white. Lossy coding of
# plain black stays within 1. (Our choice.)
_PLAIN = 1.5
# A scene darker than this has no fade that could be timed. (Our choice.)
_LEAST_LIGHT = 8.0
# A ramp of fewer refreshes is a cut to the eye; of more seconds, a change of scene. (Our choice.)
_SHORTEST, _LONGEST_S = 4, 10
# What the light may rise against the ramp, for noise and motion: share of the scene's light.
_SLACK = 0.02
# Least share of the change that a ramp explains.
_FIT = 0.985
# The brightest cells must have gone down with the mean: to this share halfway.
_HALFWAY = 0.75
# Share of the light by which a picture must differ from a plain one, or from one in full light, to
# be another: half a code of a program that draws in 8 bits.
_SEEN = 1 / 510
# How much of a ramp with eased ends lies below that share: of 3 u^2 - 2 u^3, nearly 3 u^2.
_UNSEEN_EASE = sqrt(_SEEN / 3)
# Steps, in refreshes, by which ends are moved while that makes the fit better.
_STEPS = (8.0, 4.0, 2.0, 1.0, 0.5, 0.25)


@dataclass(frozen=True)
class Fade:
    """First refresh that the ramp has touched, and first at which it has arrived."""

    start: int
    end: int


def fades(levels: Levels, refresh_hz: Fraction, codes: tuple[int, int]) -> list[Fade]:
    """All fades, in order. codes : of black and white in 8 bits."""
    black, white = codes
    sides = (
        (levels.mean - black, levels.brightest - black),
        (white - levels.mean, white - levels.darkest),
    )
    found = [
        fade
        for mean, extreme in sides
        for fade in _fades(mean.astype(np.float64), extreme.astype(np.float64), refresh_hz)
    ]
    return sorted(found, key=lambda fade: fade.start)


def _fades(light: Light, extreme: Light, refresh_hz: Fraction) -> Iterator[Fade]:
    """Fades into and out of each stretch of plain pictures."""
    n, longest = len(light), int(_LONGEST_S * refresh_hz)
    for first, end in runs(light <= _PLAIN):
        ramp = _ramp(light[:first][::-1][:longest], extreme[:first][::-1], light[first:end])
        if ramp:
            near, far = ramp
            # Counted backwards from the first plain picture; the far end is where it sets in.
            yield Fade(floor(first - 1 - far) + 1, max(floor(first - 1 - near) + 1, 0))
        ramp = _ramp(light[end:][:longest], extreme[end:], light[first:end][::-1])
        if ramp and end < n:
            near, far = ramp
            yield Fade(max(end + ceil(near), 0), end + ceil(far))


def _ramp(light: Light, extreme: Light, plain: Light) -> tuple[float, float] | None:
    """Where a ramp out of plain pictures is seen to start and end, from the first lit one.

    light, extreme : going away from the plain pictures. plain : these, the nearest first.
    """
    length = _rise(light)
    if length < _SHORTEST or light[length - 1] < _LEAST_LIGHT:
        return None
    fit = _best_fit(light, plain, length)
    # The light may go on rising with the scene, past the ramp: look no further than that.
    fit = _best_fit(light, plain, min(max(ceil(fit.far) + 1, _SHORTEST), length))
    near, far = fit.near, fit.far
    halfway = int(np.clip((near + far) / 2, 0, length - 1))
    is_fade = fit.error <= (1 - _FIT) * fit.spread and far - near >= _SHORTEST
    if not is_fade or extreme[halfway] > _HALFWAY * extreme[length - 1]:
        return None
    unseen = (far - near) * (_UNSEEN_EASE if fit.eased else _SEEN)
    return near + unseen, far - unseen


def _rise(light: Light) -> int:
    """Samples until the light stops rising, each holding or raising it."""
    if not len(light):
        return 0
    highest = np.maximum.accumulate(light)
    falls = np.flatnonzero(light < highest * (1 - _SLACK) - 0.5)
    end = int(falls[0]) if len(falls) else len(light)
    top = highest[end - 1] if end else 0.0
    # Where it has come within reach of the top for the first time.
    return int(np.argmax(light[:end] >= top * (1 - _SLACK))) + 1 if end else 0


@dataclass(frozen=True)
class _Fit:
    """A ramp of one shape from near to far, and what it leaves unexplained."""

    eased: bool
    error: float
    near: float
    far: float
    spread: float = 0.0
    """Squared deviation of the samples from their mean."""


def _error(fit: _Fit) -> float:
    return fit.error


def _best_fit(light: Light, plain: Light, length: int) -> _Fit:
    """The better shape on a ramp of about that length, with what lies beside it.

    That is as much of what is plain, and of the full scene, as half the ramp is long.
    """
    before, after = (min(len(part), max(length // 2, 8)) for part in (plain, light[length:]))
    samples = np.concatenate([plain[:before][::-1], light[: length + after]])
    position = np.arange(-before, length + after, dtype=np.float64)
    best = min((_fitted(position, samples, length, eased) for eased in (False, True)), key=_error)
    return replace(best, spread=float(((samples - samples.mean()) ** 2).sum()))


def _fitted(position: Light, samples: Light, length: int, eased: bool) -> _Fit:
    """The ramp of one shape that fits best."""

    def fit(near: float, far: float) -> _Fit:
        return _Fit(eased, _misfit(position, samples, near, far, eased), near, far)

    best = fit(-1.0, length - 1.0)
    for step in _STEPS:
        while True:
            moves = [
                (best.near + a, best.far + b) for a in (-step, 0, step) for b in (-step, 0, step)
            ]
            moved = min((fit(a, b) for a, b in moves if b - a >= 1), key=_error, default=best)
            if moved.error >= best.error * (1 - 1e-9):
                break
            best = moved
    return best


def _misfit(position: Light, samples: Light, near: float, far: float, eased: bool) -> float:
    """Squared error of a scene whose light drifts evenly, under a ramp from near to far."""
    ramp = np.clip((position - near) / (far - near), 0, 1)
    if eased:
        ramp = ramp * ramp * (3 - 2 * ramp)
    basis = np.stack([ramp, ramp * position / len(position)])
    moments, target = basis @ basis.T, basis @ samples
    gains = np.linalg.solve(moments + 1e-6 * np.eye(2), target)
    return float(((samples - gains @ basis) ** 2).sum())
