"""The whole way from two signatures to an alignment, or to none."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pacerail.align.drift import FEWEST_WINDOWS, Line, fit_line
from pacerail.align.refine import Fit, fit_in_frame, fit_offset
from pacerail.align.search import changes_of
from pacerail.align.signature import Signature
from pacerail.align.verdict import best_match

# Seconds of the first capture on either side of the moment asked for.
AROUND_S = 10.0
SOUND_TOLERANCE_S = 0.1
"""Sound may be ahead of or behind the pictures by so much: ITU-R BT.1359 finds 45 ms early to
125 ms late just noticeable, and captures differ by no more than that between them."""
# Length of footage for one fit of offset and framing: more only costs time, and clocks that
# drift by 100 parts in a million move by 2 ms meanwhile.
_FIT_S = 20.0
_FIT_MOMENTS = 600
# Windows along a match for the drift: as many as there is room for, none shorter than a
# second, in which footage rarely stands still throughout.
_MOST_WINDOWS, _SHORTEST_S, _LONGEST_S = 24, 1.0, 10.0
_WINDOW_MOMENTS = 120
# A drift is told when it is known to this: quartz clocks stay within 100 parts in a million of
# each other, and what is not known to twice that says nothing about them.
_LARGEST_ERROR_PPM = 200.0
# A drift of less than so many standard errors is chance, and the offset is taken as constant.
_SIGNIFICANT = 3.0


@dataclass(frozen=True)
class Alignment:
    """Where the content of the first capture lies in the second."""

    offset_s: float
    """A moment at t in the first is at t + offset_s in the second."""
    at_s: float
    """Moment of the first at which that holds exactly, where the clocks drift."""
    confidence: float
    """0 to 1: how far the agreement stands above that at any other offset."""
    drift_ppm: float | None
    """Microseconds that the offset grows by per second; None where too little overlaps."""
    drift_error_ppm: float | None
    """Standard error of the drift."""
    start_s: float
    """Where the agreement begins in the first capture."""
    end_s: float
    """Where it ends there."""
    sound_offset_s: float | None
    """Offset by sound alone; None where none of the two or nothing in common is heard."""

    @property
    def drifts(self) -> bool:
        """True where the drift is more than chance."""
        if self.drift_ppm is None or self.drift_error_ppm is None:
            return False
        return abs(self.drift_ppm) > _SIGNIFICANT * self.drift_error_ppm

    def moment_in_second(self, moment_s: float) -> float:
        """Where a moment of the first capture lies in the second, drift included."""
        drift = self.drift_ppm if self.drifts and self.drift_ppm is not None else 0.0
        return moment_s + self.offset_s + drift * 1e-6 * (moment_s - self.at_s)

    @property
    def sound_agrees(self) -> bool | None:
        """Whether sound says the same, None where it says nothing."""
        if self.sound_offset_s is None:
            return None
        return abs(self.sound_offset_s - self.offset_s) <= SOUND_TOLERANCE_S


def align(
    first: Signature,
    second: Signature,
    *,
    around_s: float | None = None,
    sound_offset_s: float | None = None,
) -> Alignment | None:
    """Alignment of two captures, None where nothing holds that must be called a match.

    around_s : moment of the first capture near which the content lies.
    sound_offset_s : offset that the sound suggests. Pictures decide: a menu's music is the
        same whatever it plays under. Where both agree, doubt is halved.
    """
    start_s, end_s = 0.0, first.duration_s
    if around_s is not None:
        start_s, end_s = max(0.0, around_s - AROUND_S), min(end_s, around_s + AROUND_S)
    match = best_match(
        changes_of(first, start_s, end_s),
        changes_of(second, 0.0, second.duration_s),
        () if sound_offset_s is None else (sound_offset_s,),
    )
    if match is None or not match.holds:
        return None
    start_s = max(match.start_s, -match.offset_s)
    end_s = min(match.end_s, second.duration_s - match.offset_s)
    middle_s = (start_s + end_s) / 2 if around_s is None else min(max(around_s, start_s), end_s)
    near = max(start_s, middle_s - _FIT_S / 2), min(end_s, middle_s + _FIT_S / 2)
    fit = fit_offset(first, second, _moments(*near, _FIT_MOMENTS), match.offset_s)
    line = _line(first, second, fit, start_s, end_s)
    if line is not None and line.drift_error_ppm > _LARGEST_ERROR_PPM:
        line = None
    found = Alignment(
        offset_s=fit.offset_s,
        at_s=(near[0] + near[1]) / 2,
        confidence=match.confidence,
        drift_ppm=None if line is None else line.drift_ppm,
        drift_error_ppm=None if line is None else line.drift_error_ppm,
        start_s=start_s,
        end_s=end_s,
        sound_offset_s=sound_offset_s,
    )
    if line is not None and found.drifts:
        found = replace(found, offset_s=line.at(found.at_s))
    return replace(found, confidence=(1 + found.confidence) / 2) if found.sound_agrees else found


def _line(
    first: Signature, second: Signature, fit: Fit, start_s: float, end_s: float
) -> Line | None:
    """Offsets of windows all along the match, as a line; None where there are too few."""
    windows = min(int((end_s - start_s) / _SHORTEST_S), _MOST_WINDOWS)
    if windows < FEWEST_WINDOWS:
        return None
    length_s = min((end_s - start_s) / windows, _LONGEST_S)
    found = []
    for window_s in np.linspace(start_s, end_s - length_s, windows):
        moments_s = _moments(window_s, window_s + length_s, _WINDOW_MOMENTS)
        local = fit_in_frame(first, second, moments_s, fit)
        if local.information > 0:
            found.append((window_s + length_s / 2, local.offset_s, local.information))
    if len(found) < FEWEST_WINDOWS:
        return None
    return fit_line(*np.array(found).T)


def _moments(start_s: float, end_s: float, most: int) -> NDArray[np.float64]:
    """Moments evenly spread over a stretch, 60 per second where that is not too many."""
    count = max(min(int((end_s - start_s) * 60), most), 2)
    return start_s + (np.arange(count) + 0.5) * (end_s - start_s) / count
