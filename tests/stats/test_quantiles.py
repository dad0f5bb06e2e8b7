from __future__ import annotations

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from pacerail.stats.quantiles import quantile_of_sorted

lengths = st.lists(st.floats(0.01, 500.0), min_size=1, max_size=80)
shares = st.floats(0.001, 0.999)


@pytest.mark.parametrize(("share", "value"), [(0.30, 20), (0.40, 20), (0.50, 35), (0.95, 50)])
def test_the_published_example_by_type_1(share: float, value: float) -> None:
    # {15, 20, 35, 40, 50}: the nearest-rank example of Wikipedia's article "Percentile".
    assert quantile_of_sorted(np.array([15.0, 20, 35, 40, 50]), share) == value


def test_type_1_names_a_frame_time_that_occurred_where_others_invent_one() -> None:
    # numpy's `method=` names the nine types of Hyndman and Fan (1996); the types disagree
    # on these hundred frame times from 33.3 to 49.8 ms.
    times = np.sort(np.array([16.7] * 97 + [33.3] * 2 + [50.0]))
    assert quantile_of_sorted(times, 0.99) == np.quantile(times, 0.99, method="inverted_cdf")
    assert quantile_of_sorted(times, 0.99) == 33.3
    assert np.quantile(times, 0.99, method="weibull") == pytest.approx(49.833)


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
