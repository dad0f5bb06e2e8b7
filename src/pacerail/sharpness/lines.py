"""Which frequencies of one direction count, and what each would mean.

A picture of n samples shown at L has a period of L / n samples, seen at the frequency n / L
folded into 0 to 0.5. The phase tells what folding hides, whether n or L - n was meant: the
picture is most bent at the drawn samples, at (i + 1/2) L / n from its edge, and shown samples
lie at whole numbers and a half, so a cosine laid out from the edge has the phase 0 where n is
more than half of L and half a cycle where it is less. Harmonics are folded as well, so one
period may still have several meanings. Two things are taken for granted, and said so: a
picture is drawn at no less than a quarter of the size it is shown at and at no more than the
whole, and both directions are enlarged alike unless the picture says otherwise.

Codecs have periods too: blocks of 4, 8 and 16 samples. Their frequencies and those next to
them count as no evidence. One size that matters lies among them, three quarters of the
height: it is told from a codec by what `quarters` finds, not by its frequency.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pacerail.sharpness.spectrum import Spectrum

# Scalers map the edges of the drawn picture to those of the shown one, which fixes the phase
# of the trace, in cycles: only the part in phase counts, and most must be. (Bench: within 0.02
# of it, but within 0.08 where a strong period of what is shown lies next to it.)
PHASE_TOLERANCE = 0.125
# Rows of lettering and rock agree on periods that swing by less. (Bench: up to 0.015; enlarged
# pictures coded at crf 16 swing by 0.04 and more.)
LEAST_SWING = 0.02
# Below this frequency a trace is ruled by what the picture shows; a picture drawn at more
# than 94 % of its size is not told from one drawn at all of it. (As `spectrum.SLOW`.)
LOWEST = 0.06
# Blocks of codecs repeat every 16 samples; their frequencies leak into so many independent
# ones to either side. (Native pictures of the bench: the third one away is the last.)
CODEC_PERIOD = 16
CODEC_LEAK = 4.0
# A strong period leaks into its neighbours too, so the strongest of so many independent ones
# to either side is the one that counts. (Side lobes of a DFT fall below a tenth by the third.)
CLEAR = 6.0
# Two and three independent frequencies away, a line has fallen below so much of its swing.
NARROW = 1.5
# Nobody shows pictures enlarged by more than four.
LEAST_SHARE = 0.25


def open_frequencies(axis: Spectrum) -> NDArray[np.bool_]:
    """Frequencies that count as evidence: not too low, and none that codecs have."""
    if not axis.independent:
        return np.zeros(len(axis.frequency), bool)
    nearest = np.round(axis.frequency * CODEC_PERIOD) / CODEC_PERIOD
    of_codec = np.abs(axis.frequency - nearest) <= CODEC_LEAK / axis.independent
    is_open: NDArray[np.bool_] = (axis.frequency > LOWEST) & ~of_codec
    return is_open


def peaks(axis: Spectrum) -> NDArray[np.bool_]:
    """Open frequencies that stand alone: one line, and no leak of a codec's frequency.

    The period of a trace is the same all over the picture, so it is as narrow as a line can
    be; what a picture shows has periods that spread.
    """
    is_open = open_frequencies(axis)
    if not is_open.any():
        return is_open
    width = axis.window(0.0, 1 / axis.independent).stop - 1
    of_codec = np.where(is_open | (axis.frequency <= LOWEST), 0, axis.swing)
    leaks = _highest(of_codec, range(-round(CLEAR * width), round(CLEAR * width) + 1)) / 2
    beside = _highest(axis.swing, range(-width, width + 1))
    further = [*range(-3 * width, -2 * width + 1), *range(2 * width, 3 * width + 1)]
    spread = _highest(axis.swing, further) * NARROW
    peaks: NDArray[np.bool_] = (
        is_open & (axis.swing >= beside) & (axis.swing > leaks) & (axis.swing > spread)
    )
    return peaks


def share_at(axis: Spectrum, place: int) -> float | None:
    """Native size over shown size of a picture enlarged edge to edge, if the phase is of one."""
    off, frequency = abs(axis.phase[place]), float(axis.frequency[place])
    if off <= PHASE_TOLERANCE:
        return 1 - frequency
    return frequency if off >= 0.5 - PHASE_TOLERANCE else None


def strongest_at(values: NDArray[np.float64], axis: Spectrum, frequency: float) -> float:
    """The largest value within half an independent frequency."""
    if not axis.independent:
        return 0.0
    return float(values[axis.window(frequency, 0.5 / axis.independent)].max())


def _highest(values: NDArray[np.float64], offsets: Sequence[int]) -> NDArray[np.float64]:
    """The highest of the values at those offsets from each place."""
    reach = max(abs(offset) for offset in offsets)
    padded = np.pad(values, reach)
    moved = [padded[reach + offset : reach + offset + len(values)] for offset in offsets]
    highest: NDArray[np.float64] = np.max(moved, axis=0)
    return highest
