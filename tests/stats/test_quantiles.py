from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from pacerail.stats.quantiles import quantile_of_sorted

lengths = st.lists(st.floats(0.01, 500.0), min_size=1, max_size=80)
shares = st.floats(0.001, 0.999)


# The nine types of Hyndman and Fan (1996) as numpy names them, with P30, P40, P50 and P95 of
# {15, 20, 35, 40, 50} (the example of Wikipedia's article "Percentile") and P99 of a
# hundred frame times: 97 of 16.7 ms, two of 33.3 and one of 50. numpy's documentation
# gives the names, numpy 2.4 the numbers; type 7 is its default and that of pandas.
NINE_TYPES = {
    "inverted_cdf": (20, 20, 35, 50, 33.3),
    "averaged_inverted_cdf": (20, 27.5, 35, 50, 41.65),
    "closest_observation": (20, 20, 20, 50, 33.3),
    "interpolated_inverted_cdf": (17.5, 20, 27.5, 47.5, 33.3),
    "hazen": (20, 27.5, 35, 50, 41.65),
    "weibull": (19, 26, 35, 50, 49.833),
    "linear": (23, 29, 35, 48, 33.467),
    "median_unbiased": (19.66667, 27, 35, 50, 44.37767),
    "normal_unbiased": (19.75, 27.125, 35, 50, 43.69575),
}
PUBLISHED = np.array([15.0, 20, 35, 40, 50])
FRAME_TIMES = np.array([16.7] * 97 + [33.3] * 2 + [50.0])


@pytest.mark.parametrize("method", NINE_TYPES)
def test_of_the_nine_types_only_the_first_is_ours(method: Any) -> None:
    def nine(of: Callable[[NDArray[np.float64], float], float]) -> tuple[float, ...]:
        return (*(of(PUBLISHED, share) for share in (0.3, 0.4, 0.5, 0.95)), of(FRAME_TIMES, 0.99))

    theirs = nine(lambda values, share: float(np.quantile(values, share, method=method)))
    assert theirs == pytest.approx(NINE_TYPES[method], abs=6e-4)
    assert (nine(quantile_of_sorted) == theirs) is (method == "inverted_cdf")


@given(lengths, shares)
def test_it_equals_numpy(values: list[float], share: float) -> None:
    ascending = np.sort(values)
    expected = np.quantile(ascending, share, method="inverted_cdf")
    index = share * len(values)
    if abs(index - round(index)) > 1e-6:
        assert quantile_of_sorted(ascending, share) == expected


@given(lengths, shares)
def test_it_equals_scipy(values: list[float], share: float) -> None:
    ascending = np.sort(values)
    index = share * len(values)
    if abs(index - round(index)) > 1e-6:
        expected = scipy.stats.quantile(ascending, share, method="inverted_cdf")
        assert quantile_of_sorted(ascending, share) == expected


@given(lengths, shares)
def test_weighted_by_time_it_equals_numpy(values: list[float], share: float) -> None:
    ascending = np.sort(values)
    reached = np.cumsum(ascending) / ascending.sum()
    if np.abs(reached - share).min() > 1e-6:
        expected = np.quantile(ascending, share, method="inverted_cdf", weights=ascending)
        assert quantile_of_sorted(ascending, share, ascending) == expected


def test_rounding_does_not_decide_a_tie() -> None:
    # Half of the time at 30 and half at 60: P50 over time is 16.7 ms whatever the last digit.
    for wobble in (-1e-12, 0.0, 1e-12):
        ascending = np.array([1000 / 60 + wobble] * 600 + [1000 / 30] * 300)
        assert quantile_of_sorted(ascending, 0.5, ascending) == pytest.approx(1000 / 60)


@given(lengths)
def test_equal_weights_are_no_weights(values: list[float]) -> None:
    ascending = np.sort(values)
    for share in (0.01, 0.5, 0.95, 0.99, 0.999):
        weighted = quantile_of_sorted(ascending, share, np.ones(len(values)))
        assert weighted == quantile_of_sorted(ascending, share)
