"""Load times: takes of a platform summed up, and two platforms compared.

A load is counted in whole refreshes between two that were chosen. Each end may be off by
one refresh, so a length is good to two, whatever the clock says.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import comb
from statistics import median

from pacerail.stats.intervals import CONFIDENCE

# Refreshes by which two takes of the same length may come out apart: one at either end of both.
# Bounds, not deviations: Evaluation of measurement data, JCGM 100:2008, 4.3.7.
APART_BY_MEASURING = 4


@dataclass(frozen=True)
class LoadTime:
    """One take, measured."""

    refreshes: int
    refresh_hz: Fraction

    @property
    def length_s(self) -> Fraction:
        """Exact length."""
        return self.refreshes / self.refresh_hz

    @property
    def end_error_s(self) -> Fraction:
        """By how much either end may be off."""
        return 1 / self.refresh_hz

    @property
    def shortest_s(self) -> Fraction:
        """The least it may have been; below 0 for one of a refresh."""
        return self.length_s - 2 * self.end_error_s

    @property
    def longest_s(self) -> Fraction:
        """The most it may have been."""
        return self.length_s + 2 * self.end_error_s


@dataclass(frozen=True)
class LoadSummary:
    """All takes of a platform."""

    takes: int
    median_s: Fraction
    shortest_s: Fraction
    longest_s: Fraction
    disagree: bool
    """True where their range is more than measuring explains: what loads has changed."""


@dataclass(frozen=True)
class Ratio:
    """How many times as long the first platform loads as the second."""

    ratio: float
    """Median of the ratios of every take of one to every take of the other."""
    lower: float | None
    """95 % interval; None where there are too few takes for one."""
    upper: float | None
    least: float
    """What measuring alone leaves open: every length is good to a refresh at either end."""
    most: float | None
    """None where the second platform's load is too short to bound it."""


def summarise_loads(times: Sequence[LoadTime]) -> LoadSummary:
    """Median and range of one or more takes."""
    lengths = [each.length_s for each in times]
    error_s = max(each.end_error_s for each in times)
    return LoadSummary(
        takes=len(times),
        median_s=median(lengths),
        shortest_s=min(lengths),
        longest_s=max(lengths),
        disagree=max(lengths) - min(lengths) > APART_BY_MEASURING * error_s,
    )


def load_ratio(first: Sequence[LoadTime], second: Sequence[LoadTime]) -> Ratio:
    """Ratio of load times with its exact 95 % interval.

    Estimate and interval of Hodges and Lehmann (Annals of Mathematical Statistics 34, 1963,
    p. 598) for the shift between two samples, here of the logarithms of lengths: all ratios
    of pairs are put in order, and the exact distribution of the rank-sum statistic under
    chance (Mann and Whitney, Annals of Mathematical Statistics 18, 1947, p. 50) tells how
    many may be left out at either end.
    """
    pairs = [(a, b) for a in first for b in second]
    ratios = sorted(float(a.length_s / b.length_s) for a, b in pairs)
    # A median moves with every one of its values, so its bounds are the medians of theirs.
    least = median(float(max(a.shortest_s, Fraction(0)) / b.longest_s) for a, b in pairs)
    most = None
    if all(b.shortest_s > 0 for b in second):
        most = median(float(a.longest_s / b.shortest_s) for a, b in pairs)
    outside = _left_out(len(first), len(second))
    if outside is None:
        return Ratio(median(ratios), None, None, least, most)
    return Ratio(median(ratios), ratios[outside], ratios[-1 - outside], least, most)


def _left_out(m: int, n: int) -> int | None:
    """Ratios that lie outside the interval at either end; None where even 0 are too many."""
    counts = rank_sum_counts(m, n)
    tail = Fraction((1 - CONFIDENCE) / 2).limit_denominator(1000) * comb(m + n, m)
    below, outside = 0, None
    for statistic, count in enumerate(counts):
        below += count
        if below > tail:
            return outside
        outside = statistic
    return outside


def rank_sum_counts(m: int, n: int) -> list[int]:
    """In how many orders of m and n values the Mann-Whitney statistic is 0, 1, ... m * n.

    The coefficients of the Gaussian binomial, by its recursion over the greatest value.
    """
    table = {(a, b): [1] for a in range(m + 1) for b in range(n + 1) if a == 0 or b == 0}
    for a in range(1, m + 1):
        for b in range(1, n + 1):
            counts = [0] * (a * b + 1)
            for statistic, count in enumerate(table[a - 1, b]):
                counts[statistic + b] += count
            for statistic, count in enumerate(table[a, b - 1]):
                counts[statistic] += count
            table[a, b] = counts
    return table[m, n]
