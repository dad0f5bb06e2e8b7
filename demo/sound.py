"""The sound of a harbour at dusk: slow swell, a distant bell."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

SAMPLE_RATE_HZ = 48_000

_SWELL_S = 7.0
_BELL_EVERY_S = 4.5
_BELL_DECAY_S = 1.4
# (partial in Hz, level): a small inharmonic bell.
_BELL_PARTIALS = ((392.0, 0.05), (934.0, 0.025), (1571.0, 0.012))


def harbour_sound(duration_s: float) -> NDArray[np.float32]:
    """Float samples in [-1, 1], shape (2, samples); the same every time."""
    count = round(duration_s * SAMPLE_RATE_HZ)
    time_s = np.arange(count) / SAMPLE_RATE_HZ
    rng = np.random.default_rng(1905)
    channels = []
    for phase in (0.0, 0.9):
        surf = _smoothed(rng.standard_normal(count), 48)
        swell = 0.5 - 0.5 * np.cos(2 * np.pi * time_s / _SWELL_S + phase)
        channels.append(0.35 * surf * (0.25 + 0.75 * swell))
    since_bell = time_s % _BELL_EVERY_S
    bell = sum(level * np.sin(2 * np.pi * hz * since_bell) for hz, level in _BELL_PARTIALS)
    sound = np.stack(channels) + bell * np.exp(-since_bell / _BELL_DECAY_S)
    return sound.astype(np.float32)


def _smoothed(noise: NDArray[np.float64], length: int) -> NDArray[np.float64]:
    """Running mean: noise without its hiss."""
    padded = np.concatenate([np.zeros(length), np.cumsum(noise)])
    smoothed: NDArray[np.float64] = (padded[length:] - padded[:-length]) / length
    return smoothed
