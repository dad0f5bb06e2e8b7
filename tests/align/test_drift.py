from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacerail.align.drift import fit_line


@given(
    ppm=st.floats(-400, 400),
    offset_s=st.floats(-100, 100),
    information=st.lists(st.floats(0.5, 2), min_size=8, max_size=24),
)
def test_offsets_on_a_line_give_that_line(
    ppm: float, offset_s: float, information: list[float]
) -> None:
    moments_s = np.arange(len(information), dtype=np.float64) * 2.0 + 5.0
    line = fit_line(moments_s, offset_s + ppm * 1e-6 * moments_s, np.array(information))
    assert line.drift_ppm == pytest.approx(ppm, abs=1e-3)
    assert line.at(20.0) == pytest.approx(offset_s + ppm * 2e-5, abs=1e-6)


def test_a_few_wrong_windows_do_not_bend_the_line() -> None:
    moments_s = np.arange(0.0, 60.0, 3.0)
    offsets_s = 1.0 + 50e-6 * moments_s
    offsets_s[[3, 11, 17]] += [0.1, -0.2, 0.15]
    line = fit_line(moments_s, offsets_s, np.ones(20))
    assert line.drift_ppm == pytest.approx(50, abs=1)


def test_the_error_is_that_of_repeated_trials() -> None:
    rng = np.random.default_rng(7)
    moments_s = np.arange(0.0, 60.0, 2.5)
    lines = [fit_line(moments_s, 0.004 * rng.standard_normal(24), np.ones(24)) for _ in range(300)]
    scatter = np.std([line.drift_ppm for line in lines])
    stated = np.mean([line.drift_error_ppm for line in lines])
    assert stated == pytest.approx(scatter, rel=0.25)
