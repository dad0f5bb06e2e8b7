"""What two captures have in common to the ear: onsets in a few bands, and their offset.

Loudness and equalisation differ between machines; when something begins does not. The
envelope is the rise of the level of each band, in decibels, which is what an onset is.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

ENVELOPE_HZ = 100
"""Values per second: 10 ms, about what hearing tells apart as two events."""
# Edges of the bands in Hz, two octaves apart: bass, voices, consonants, hiss.
_BAND_EDGES_HZ = (60, 250, 1000, 4000, 8000)
# Level below which nothing is heard, decibels relative to full scale. (16-bit noise is at -96.)
_SILENCE_DB = -70.0
# Values averaged before a rise is taken: 50 ms, so that noise has no onsets.
_SMOOTHING = 5
# Least sound that two captures must share, seconds.
_LEAST_OVERLAP_S = 1.5
# Correlation that a match must reach, and how far it must stand above all other offsets'.
# Independent noise of a few seconds reaches 0.25; a clear match of music or speech 0.6.
_LEAST_CORRELATION, _LEAST_LEAD = 0.4, 1.5


@dataclass(frozen=True, eq=False)
class Envelope:
    """Rise of the level of each band over time."""

    rise: NDArray[np.float32]
    """Shape (n, bands), decibels per step of `ENVELOPE_HZ`, 0 where levels fall."""
    start_s: float
    """Moment of the first row."""


def envelope_of(
    blocks: Iterable[tuple[float, NDArray[np.float32]]], sample_rate_hz: int
) -> Envelope | None:
    """Envelope of sound given as blocks of (start in seconds, samples); None for silence.

    Memory is 16 bytes per 10 ms.
    """
    hop = sample_rate_hz // ENVELOPE_HZ
    window = np.hanning(2 * hop).astype(np.float32)
    bins = np.searchsorted(np.fft.rfftfreq(2 * hop, 1 / sample_rate_hz), _BAND_EDGES_HZ)
    levels: list[NDArray[np.float32]] = []
    start_s: float | None = None
    held = np.empty(0, np.float32)
    for block_s, samples in blocks:
        if start_s is None:
            start_s = block_s
        heard_s = start_s + len(levels) / ENVELOPE_HZ + len(held) / sample_rate_hz
        gap = round((block_s - heard_s) * sample_rate_hz)
        # A gap of less than a step is rounding of time stamps.
        parts = [held, np.zeros(gap, np.float32), samples] if gap > hop else [held, samples]
        held = np.concatenate(parts)
        steps = max(len(held) // hop - 1, 0)
        for step in range(steps):
            power = np.abs(np.fft.rfft(held[step * hop : (step + 2) * hop] * window)) ** 2
            bands = np.add.reduceat(power, bins[:-1])[: len(bins) - 1]
            levels.append(10 * np.log10(bands / hop**2 + 10 ** (_SILENCE_DB / 10)))
        held = held[steps * hop :]
    if start_s is None or len(levels) < 2 * _SMOOTHING:
        return None
    level = np.array(levels, np.float32)
    if level.max() < _SILENCE_DB + 10:
        return None
    sums = np.cumsum(np.concatenate([np.zeros((1, level.shape[1]), np.float32), level]), axis=0)
    smooth = (sums[_SMOOTHING:] - sums[:-_SMOOTHING]) / _SMOOTHING
    rise = np.maximum(np.diff(smooth, axis=0), 0)
    # A row belongs to the middle of the samples that it was made from.
    return Envelope(rise, start_s + (_SMOOTHING / 2 + 1) / ENVELOPE_HZ)


def sound_offset(first: Envelope, second: Envelope) -> float | None:
    """Offset of the second against the first in seconds, None where nothing stands out."""
    ours, theirs = (each.rise - each.rise.mean(axis=0) for each in (first, second))
    size = 1 << (len(ours) + len(theirs) - 1).bit_length()
    lags = np.arange(-len(ours) + 1, len(theirs))
    like = _correlated(ours, theirs, size)[lags]
    energy = _correlated((ours**2).sum(1, keepdims=True), np.ones((len(theirs), 1)), size)[lags]
    other = _correlated(np.ones((len(ours), 1)), (theirs**2).sum(1, keepdims=True), size)[lags]
    overlap = np.minimum(len(ours), len(theirs) - lags) - np.maximum(0, -lags)
    enough = overlap >= _LEAST_OVERLAP_S * ENVELOPE_HZ
    strength = np.sqrt(np.maximum(energy * other, 1e-12))
    value = np.where(enough, like / strength, 0.0)
    best = int(np.argmax(value))
    apart = np.abs(np.arange(len(value)) - best) > ENVELOPE_HZ // 5
    rival = float(value[apart].max(initial=0.0))
    if value[best] < max(_LEAST_CORRELATION, _LEAST_LEAD * rival):
        return None
    steps = float(lags[best]) + _vertex(value, best)
    return second.start_s - first.start_s + steps / ENVELOPE_HZ


def _correlated(
    first: NDArray[np.floating], second: NDArray[np.floating], size: int
) -> NDArray[np.float64]:
    spectrum = np.fft.rfft(first, size, axis=0).conj() * np.fft.rfft(second, size, axis=0)
    result: NDArray[np.float64] = np.fft.irfft(spectrum.sum(axis=1), size)
    return result


def _vertex(value: NDArray[np.float64], place: int) -> float:
    """Place of the vertex of the parabola through a peak and its neighbours, from the peak."""
    if not 0 < place < len(value) - 1:
        return 0.0
    before, peak, after = value[place - 1 : place + 2]
    bend = before - 2 * peak + after
    return float((before - after) / (2 * bend)) if bend < 0 else 0.0
