"""How strong each period of a trace is, against the noise around it.

The spectrum of a trace that has no period is noise whose level changes slowly with
frequency. Over that level its power is distributed exponentially with mean 1, so the chance
that noise reaches a strength s at one frequency is exp(-s): that is the false alarm rate
which everything that is found here is weighed against.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pacerail.sharpness.trace import Strip, Trace

# The noise level is the median of so many independent frequencies to one side or the other,
# whichever is higher, since noise falls with frequency. The nearest ones are left out, which
# a strong period leaks into. (Bench: with 24 and 2, the strongest traces raise their own
# noise level and lose against their harmonics.)
NEARBY = 60
LEAK = 6
# No strip speaks for more than so many standard deviations. A period that is in all strips
# needs no more to be found; one that the picture itself shows in a few strips, such as a
# fence, cannot outvote the others. (Our choice.)
MOST_PER_STRIP = 3.0
# Changes slower than this are what the picture shows: sky over sea. They are divided out by
# a mean over so many samples to either side.
SLOW = 12
# A row of lettering may be many times more bent than its surroundings.
MOST_OVER_MEAN = 3.0


@dataclass(frozen=True, eq=False)
class Spectrum:
    """Strength of every period of a trace; arrays of one length, by ascending frequency."""

    frequency: NDArray[np.float64]
    """Cycles per sample, 0 to 0.5, each that of a whole number of native samples."""
    strength: NDArray[np.float64]
    """Power over the noise around it: exponential with mean 1 where there is no period."""
    swing: NDArray[np.float64]
    """How far the trace swings about its mean at this period, as a share of the mean."""
    phase: NDArray[np.float64]
    """Cycles, -0.5 to 0.5, by which the period is off from one centred on the picture."""
    independent: float
    """Independent frequencies per unit of frequency."""

    @cached_property
    def strength_in_phase(self) -> NDArray[np.float64]:
        """Natural logarithm of one over the chance that noise has so much at the phase 0 or 1/2.

        What noise has there is normal, so the chance is erfc(x), where x**2 is the strength of
        the part in phase. (By the upper bound 7.1.13 of Abramowitz and Stegun, Handbook of
        Mathematical Functions, exact at 0 and for large x.)
        """
        x = np.sqrt(self.strength) * np.abs(np.cos(2 * np.pi * self.phase))
        bound: NDArray[np.float64] = x**2 + np.log(
            math.sqrt(math.pi) / 2 * (x + np.sqrt(x**2 + 4 / math.pi))
        )
        return bound

    def window(self, frequency: float, width: float) -> slice:
        """Indexes of the frequencies at most `width` away; at least the nearest one."""
        step = self.frequency[1]
        first = max(math.ceil((frequency - width) / step - 1e-9), 0)
        end = min(math.floor((frequency + width) / step + 1e-9) + 1, len(self.frequency))
        if end <= first:
            first = min(max(round(frequency / step), 0), len(self.frequency) - 1)
            end = first + 1
        return slice(first, end)


def spectrum(trace: Trace) -> Spectrum:
    """The spectrum of a trace whose strips agree; strength is 0 where there are no strips."""
    frequency = np.arange(trace.length // 2 + 1) / trace.length
    # A period of an enlarged picture is laid out from the picture's edges inwards, half a
    # sample before its first sample.
    turn = np.exp(-1j * np.pi * frequency)
    together = np.zeros(len(frequency), complex)
    plain = np.zeros(len(frequency), complex)
    samples = 0
    for strip in trace.strips:
        placed = np.zeros(trace.length)
        placed[strip.start : strip.start + len(strip.bend)] = _swing(strip.bend)
        lines = np.fft.rfft(placed) * turn
        whitened = lines / np.sqrt(_noise(np.abs(lines) ** 2, trace.length, strip))
        size = np.abs(whitened)
        whitened *= np.minimum(1.0, MOST_PER_STRIP / np.maximum(size, MOST_PER_STRIP / 2))
        together += whitened
        plain += lines
        samples += len(strip.bend)
    longest = max(trace.strips, key=lambda strip: len(strip.bend), default=None)
    if longest is None:
        zeros = np.zeros(len(frequency))
        return Spectrum(frequency, zeros, zeros, zeros, 0.0)
    power = np.abs(together) ** 2
    return Spectrum(
        frequency,
        power / _noise(power, trace.length, longest),
        2 * np.abs(plain) / samples,
        np.angle(together) / (2 * np.pi),
        float(len(longest.bend)),
    )


def _swing(bend: NDArray[np.float64]) -> NDArray[np.float64]:
    """The trace about its mean nearby, as a share of it."""
    kernel = np.full(2 * SLOW + 1, 1 / (2 * SLOW + 1))
    mean = np.convolve(np.pad(bend, SLOW, mode="reflect"), kernel, "valid")
    least = 1e-3 * bend.mean() + 1e-9
    swing: NDArray[np.float64] = np.clip(bend / (mean + least) - 1, -1, MOST_OVER_MEAN)
    return swing


def _noise(power: NDArray[np.float64], length: int, strip: Strip) -> NDArray[np.float64]:
    """Mean power of the noise around each frequency.

    The median of an exponential distribution is ln 2 of its mean.
    """
    # Samples of the spectrum per independent frequency.
    step = length / len(strip.bend)
    reach, leak = round(NEARBY * step), math.ceil(LEAK * step)
    sides = np.lib.stride_tricks.sliding_window_view(
        np.pad(power, reach, mode="reflect"), reach - leak
    )
    medians = np.median(sides, axis=1)
    noise: NDArray[np.float64] = np.maximum(medians[: len(power)], medians[-len(power) :])
    return noise / math.log(2) + 1e-12
