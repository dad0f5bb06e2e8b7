"""When sound starts and stops, from blocks of samples in one pass."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

FLOOR = 0.001
"""Samples up to -60 dB of full scale are silence (silencedetect's default, libavfilter's
documentation)."""
LEAST_SILENCE_S = 0.5
"""Shorter silence is a rest within the sound. (Our choice, the product's still limit;
silencedetect waits for 2 s, longer than many a load is silent.)"""


class SilenceFinder:
    """Give it blocks in order of time; it tells of starts and ends of sound.

    What lies between blocks, and before the first picture, is silence.
    """

    def __init__(self, sample_rate_hz: int) -> None:
        self._rate = sample_rate_hz
        self._heard_s: float | None = None
        """End of the last sample that was heard."""

    def hear(self, start_s: float, samples: NDArray[np.float32]) -> Iterator[tuple[float, bool]]:
        """Moments, seconds from the first picture, each with True where sound starts.

        An end is told of once the sound after it starts.
        """
        loud = np.flatnonzero(np.abs(samples) > FLOOR)
        times = start_s + loud / self._rate
        times = times[times >= 0]
        if not len(times):
            return
        ends = np.concatenate([[self._heard_s or 0.0], times + 1 / self._rate])
        for index in np.flatnonzero(times - ends[:-1] >= LEAST_SILENCE_S):
            if index or self._heard_s is not None:
                yield float(ends[index]), False
            yield float(times[index]), True
        self._heard_s = float(ends[-1])

    def finish(self, duration_s: float) -> Iterator[tuple[float, bool]]:
        """The last end, where the capture goes on long enough in silence."""
        if self._heard_s is not None and duration_s - self._heard_s >= LEAST_SILENCE_S:
            yield self._heard_s, False
