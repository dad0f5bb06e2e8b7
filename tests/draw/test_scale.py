from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacerail.draw.scale import Scale, design_unit, even, even_up, scale_for

RATES = [Fraction(r) for r in (24, 25, 30, 50, 60, 120, 240)] + [Fraction(60000, 1001)]


@given(
    st.sampled_from(RATES),
    st.floats(0.1, 4),
    st.sampled_from([(640, 360), (1280, 720), (1920, 1080), (3840, 2160), (1080, 1920)]),
)
def test_a_refresh_is_an_even_whole_number_of_pixels_near_the_style(
    rate: Fraction, per_ms: float, size: tuple[int, int]
) -> None:
    unit = design_unit(*size)
    scale = scale_for(rate, per_ms, unit)
    wanted = per_ms * unit * 1000 / float(rate)
    assert scale.pixels_per_refresh % 2 == 0
    assert scale.pixels_per_refresh >= 2
    assert scale.pixels_per_refresh == 2 or abs(scale.pixels_per_refresh - wanted) <= 1


def test_sixty_hertz_at_full_hd_is_ten_pixels_at_six_tenths_per_ms() -> None:
    scale = scale_for(Fraction(60), 0.6, design_unit(1920, 1080))
    assert scale == Scale(Fraction(60), 10)
    assert scale.pixels_per_ms == pytest.approx(0.6)
    assert scale_for(Fraction(60), 0.6, design_unit(3840, 2160)).pixels_per_refresh == 20


@pytest.mark.parametrize("rate", RATES, ids=str)
def test_whole_refreshes_fall_on_whole_pixels_for_hours(rate: Fraction) -> None:
    scale = Scale(rate, 10)
    refresh = np.arange(0, int(rate * 3600 * 3), 997)
    milliseconds = refresh / float(rate) * 1000
    np.testing.assert_array_equal(scale.pixels(milliseconds), refresh * 10)


@given(st.floats(0, 10000))
def test_even_rounds_to_the_nearest_and_even_up_never_below(value: float) -> None:
    assert even(value) % 2 == 0
    assert abs(even(value) - value) <= 1
    assert even_up(value) % 2 == 0
    assert 0 <= even_up(value) - value <= 2
