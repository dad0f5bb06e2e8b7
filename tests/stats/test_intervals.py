from __future__ import annotations

import pytest
import scipy.stats
from hypothesis import example, given
from hypothesis import strategies as st

from pacerail.stats.intervals import Interval, clopper_pearson, difference_interval, rule_of_three


@pytest.mark.parametrize(
    ("cases", "trials", "lower", "upper"),
    [
        # Documentation of scipy.stats.binomtest: 7 of 50.
        (7, 50, 0.05819170, 0.26739600),
        # Pairs of Newcombe, Statistics in Medicine 17, 1998, p. 857; bounds as scipy's
        # `binomtest(...).proportion_ci(method="exact")` and statsmodels give them.
        (81, 263, 0.252737, 0.367622),
        (15, 148, 0.057844, 0.161650),
        (0, 20, 0.0, 0.168433),
        (1, 29, 0.000873, 0.177644),
        (0, 600, 0.0, 0.006129),
    ],
)
def test_published_intervals(cases: int, trials: int, lower: float, upper: float) -> None:
    assert clopper_pearson(cases, trials) == pytest.approx((lower, upper), abs=6e-7)


@st.composite
def counts(draw: st.DrawFn) -> tuple[int, int]:
    trials = draw(st.integers(1, 10) | st.integers(1, 1000) | st.integers(1, 1_000_000))
    return draw(st.integers(0, trials) | st.integers(0, min(trials, 5))), trials


@given(counts())
@example((0, 1))
@example((1, 1))
@example((0, 1_000_000))
@example((1_000_000, 1_000_000))
@example((1, 1_000_000))
@example((500_000, 1_000_000))
@example((999_999, 1_000_000))
def test_it_equals_scipy(pair: tuple[int, int]) -> None:
    cases, trials = pair
    lower = scipy.stats.beta.ppf(0.025, cases, trials - cases + 1) if cases else 0.0
    upper = scipy.stats.beta.ppf(0.975, cases + 1, trials - cases) if cases < trials else 1.0
    assert clopper_pearson(cases, trials) == pytest.approx((lower, upper), rel=1e-7)


@pytest.mark.parametrize(
    ("trials", "exact"),
    # One-sided exact bound of no case in n: 1 - 0.05 ** (1 / n); 0 of 14 is the example of
    # Hanley and Lippman-Hand (JAMA 249, 1983, p. 1743).
    [(14, 0.192636), (100, 0.029513), (600, 0.004980)],
)
def test_the_rule_of_three_lies_just_above_the_exact_bound(trials: int, exact: float) -> None:
    assert 1 - 0.05 ** (1 / trials) == pytest.approx(exact, abs=6e-7)
    assert exact < rule_of_three(trials) < exact * (1 + 2 / trials + 0.01)


def test_the_rule_of_three_on_600_frames_says_half_a_percent() -> None:
    assert rule_of_three(600) == 0.005


@pytest.mark.parametrize(("cases", "trials"), [(-1, 5), (6, 5), (0, 0)])
def test_counts_must_make_sense(cases: int, trials: int) -> None:
    with pytest.raises(ValueError, match="cases must be 0 to trials"):
        clopper_pearson(cases, trials)


def wilson(cases: int, trials: int) -> tuple[float, Interval]:
    """Share and Wilson's interval, by scipy."""
    bounds = scipy.stats.binomtest(cases, trials).proportion_ci(method="wilson")
    return cases / trials, (bounds.low, bounds.high)


@pytest.mark.parametrize(
    ("one", "other", "lower", "upper"),
    [
        # Pairs of Newcombe, Statistics in Medicine 17, 1998, p. 873, method 10; bounds to his
        # four decimals.
        ((56, 70), (48, 80), 0.0524, 0.3339),
        ((9, 10), (3, 10), 0.1705, 0.8090),
        ((6, 7), (2, 7), 0.0582, 0.8062),
        ((5, 56), (0, 29), -0.0381, 0.1926),
    ],
)
def test_published_intervals_of_differences(
    one: tuple[int, int], other: tuple[int, int], lower: float, upper: float
) -> None:
    bounds = difference_interval(wilson(*one), wilson(*other))
    assert bounds == pytest.approx((lower, upper), abs=6e-5)


@given(counts(), counts())
def test_exact_intervals_of_differences_lie_round_the_difference(
    one: tuple[int, int], other: tuple[int, int]
) -> None:
    a, b = (cases / trials for cases, trials in (one, other))
    sides = (a, clopper_pearson(*one)), (b, clopper_pearson(*other))
    lower, upper = difference_interval(*sides)
    assert lower <= a - b <= upper
    assert difference_interval(*reversed(sides)) == pytest.approx((-upper, -lower))
