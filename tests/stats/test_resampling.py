from __future__ import annotations

import numpy as np
import pytest
import scipy.signal
import scipy.stats

from pacerail.stats.resampling import ratio_interval
from pacerail.stats.segment import NotMeasurableError


def test_independent_trials_give_about_the_interval_of_a_mean() -> None:
    values = np.random.default_rng(1).normal(50.0, 10.0, 36_000)
    lower, upper = ratio_interval(values, np.ones_like(values), 60.0)
    reference = scipy.stats.t.interval(
        0.95, len(values) - 1, values.mean(), scipy.stats.sem(values)
    )
    # The bootstrap of 150 blocks knows a deviation to about 6 %; allow three times that.
    assert upper - lower == pytest.approx(reference[1] - reference[0], rel=0.2)
    assert lower < values.mean() < upper


@pytest.mark.parametrize(("persistence", "least"), [(0.0, 0.90), (0.95, 0.85)])
def test_coverage_holds_up_under_dependence(persistence: float, least: float) -> None:
    """95 % intervals of a share of one in ten hold it in nearly that many samples."""
    random = np.random.default_rng(2)
    threshold = scipy.stats.norm.ppf(0.9)
    hits = 0
    for _ in range(200):
        noise = random.standard_normal(60 * 60)
        noise[0] /= np.sqrt(1 - persistence**2)
        gain = np.sqrt(1 - persistence**2)
        cases = scipy.signal.lfilter([gain], [1, -persistence], noise) > threshold
        lower, upper = ratio_interval(cases.astype(np.float64), np.ones(len(cases)), 60.0)
        hits += lower <= 0.1 <= upper
    assert hits / 200 >= least


def test_dependence_widens_the_interval() -> None:
    scattered = np.zeros(6000)
    scattered[::10] = 1.0
    random = np.random.default_rng(3)
    random.shuffle(scattered)
    clustered = np.sort(scattered.reshape(10, 600), axis=1).ravel()
    widths = [
        np.diff(ratio_interval(cases, np.ones(6000), 60.0)).item()
        for cases in (scattered, clustered)
    ]
    assert widths[1] > 3 * widths[0]


def test_the_same_footage_says_the_same_twice() -> None:
    cases = (np.random.default_rng(4).random(1200) < 0.2).astype(np.float64)
    assert ratio_interval(cases, np.ones(1200), 60.0) == ratio_interval(cases, np.ones(1200), 60.0)


def test_constant_footage_has_no_width() -> None:
    assert ratio_interval(np.full(900, 1.0), np.full(900, 1 / 60), 60.0) == pytest.approx((60, 60))


def test_less_than_ten_seconds_is_too_little() -> None:
    ratio_interval(np.ones(600), np.ones(600), 60.0)
    with pytest.raises(NotMeasurableError, match="an interval takes 10 s or more"):
        ratio_interval(np.ones(599), np.ones(599), 60.0)


def test_nothing_to_take_a_share_of() -> None:
    with pytest.raises(NotMeasurableError, match="nothing in the segment"):
        ratio_interval(np.zeros(900), np.zeros(900), 60.0)
