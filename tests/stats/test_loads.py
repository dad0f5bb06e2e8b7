"""Load times: what takes come to, and how far a ratio can be trusted."""

from __future__ import annotations

from fractions import Fraction
from math import comb

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import mannwhitneyu

from pacerail.stats.loads import LoadTime, load_ratio, rank_sum_counts, summarise_loads


def times(*refreshes: int) -> list[LoadTime]:
    return [LoadTime(each, Fraction(60)) for each in refreshes]


def test_a_load_is_exact_in_refreshes() -> None:
    time = LoadTime(300, Fraction(60000, 1001))
    assert time.length_s == Fraction(5005, 1000)
    assert time.end_error_s == Fraction(1001, 60000)


def test_takes_agree_as_far_as_measuring_can_tell() -> None:
    assert not summarise_loads(times(300, 304)).disagree
    summary = summarise_loads(times(300, 305, 301))
    assert summary.disagree
    assert (summary.median_s, summary.shortest_s) == (Fraction(301, 60), Fraction(5))


@given(st.integers(1, 7), st.integers(1, 7))
def test_every_order_of_takes_is_counted_once(m: int, n: int) -> None:
    counts = rank_sum_counts(m, n)
    assert sum(counts) == comb(m + n, m)
    assert counts == counts[::-1]


@pytest.mark.parametrize(("m", "n"), [(4, 4), (5, 6), (3, 8)])
def test_the_distribution_is_that_of_scipy(m: int, n: int) -> None:
    # Values that are all on one side but for one swap have the statistic 1.
    first, second = list(range(m)), list(range(m, m + n))
    first[-1], second[0] = second[0], first[-1]
    p = mannwhitneyu(first, second, alternative="less", method="exact").pvalue
    assert sum(rank_sum_counts(m, n)[:2]) / comb(m + n, m) == pytest.approx(p)


def test_three_takes_of_each_give_no_interval_and_four_do() -> None:
    # 2 / C(6, 3) = 0.1 is above 0.05; 2 / C(8, 4) = 0.029 is not.
    assert load_ratio(times(300, 301, 302), times(600, 601, 602)).lower is None
    ratio = load_ratio(times(300, 301, 302, 303), times(600, 601, 602, 603))
    assert ratio.lower == pytest.approx(300 / 603)
    assert ratio.upper == pytest.approx(303 / 600)
    assert ratio.ratio == pytest.approx(0.5, abs=0.002)


def test_the_limits_of_the_interval_are_those_of_the_tables() -> None:
    # Two-sided 5 % critical values of U: 2 for 5 and 5, 13 for 8 and 8 (Mann and Whitney's
    # tables, as every textbook reprints them): so many ratios and one more lie outside or on.
    first, second = times(*range(501, 506)), times(*range(1001, 1006))
    ratios = sorted(float(a.length_s / b.length_s) for a in first for b in second)
    assert load_ratio(first, second).lower == pytest.approx(ratios[2])


def test_one_take_of_each_is_bounded_by_what_measuring_leaves_open() -> None:
    ratio = load_ratio(times(84), times(138))
    assert ratio.least == pytest.approx(82 / 140)
    assert ratio.most == pytest.approx(86 / 136)
    assert load_ratio(times(84), times(2)).most is None


lengths = st.lists(st.integers(5, 500), min_size=1, max_size=5)
errors = st.lists(st.integers(-2, 2), min_size=5, max_size=5)


@given(lengths, lengths, errors, errors)
def test_lengths_within_the_error_of_measuring_stay_within_the_bounds(
    first: list[int], second: list[int], off_first: list[int], off_second: list[int]
) -> None:
    measured = load_ratio(times(*first), times(*second))
    true = load_ratio(
        times(*(a + e for a, e in zip(first, off_first, strict=False))),
        times(*(b + e for b, e in zip(second, off_second, strict=False))),
    )
    assert measured.most is not None
    assert measured.least - 1e-12 <= true.ratio <= measured.most + 1e-12
