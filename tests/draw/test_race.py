"""Clocks and bars of a load race."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacerail.draw.race import RacePanel, Runner, clock_text, running_text
from pacerail.draw.style import load_style, style_names

CANVAS = (1920, 1080)
SLOW, FAST = Runner("Wren", Fraction(37, 20)), Runner("Merle", Fraction(7, 5))


def panel(number: int, style: str = "quay", decimals: int = 1) -> RacePanel:
    return RacePanel([FAST, SLOW], number, load_style(style), CANVAS, 760, decimals)


@pytest.mark.parametrize(
    ("seconds", "decimals", "text"),
    [
        (Fraction(0), 1, "0.0"),
        (Fraction(125, 100), 1, "1.3"),
        (Fraction(5999, 100), 1, "1:00.0"),
        (Fraction(6234, 100), 2, "1:02.34"),
    ],
)
def test_a_clock_is_written_to_the_tick(seconds: Fraction, decimals: int, text: str) -> None:
    assert clock_text(seconds, decimals) == text


@given(st.integers(0, 400), st.integers(1, 300), st.sampled_from([1, 2]))
def test_a_clock_never_goes_back_and_ends_at_the_time(now: int, end: int, decimals: int) -> None:
    length_s = Fraction(end, 60)
    texts = [running_text(Fraction(each, 60), length_s, decimals) for each in (now, now + 1)]
    assert float(texts[0]) <= float(texts[1]) or ":" in texts[1]
    if now >= end:
        assert texts[0] == clock_text(length_s, decimals)


def test_bars_grow_alike_until_one_stands() -> None:
    fast, slow = panel(0), panel(1)

    def lengths(elapsed_s: Fraction) -> list[int]:
        return [each.patches(elapsed_s, 0, 0)[1].width for each in (fast, slow)]

    half = lengths(Fraction(7, 10))
    assert half[0] == half[1]
    assert lengths(Fraction(7, 4))[0] == lengths(Fraction(7, 5))[0] < lengths(Fraction(7, 4))[1]
    assert lengths(Fraction(5))[1] == 760 - 2 * 20  # quay pads by 20


def test_an_image_is_kept_while_the_clock_shows_the_same() -> None:
    one = panel(0)
    images = [one.patches(Fraction(each, 60), 0, 0)[0].image for each in (12, 13, 17, 18)]
    assert images[0] is images[1] is images[2]
    assert images[3] is not images[0]


def test_the_result_is_kept_back_until_both_have_arrived() -> None:
    one = panel(0)
    before = one.patches(Fraction(18, 10), 0, 0)[0].image
    after = one.patches(SLOW.length_s, 0, 0)[0].image
    assert (before.rgba != after.rgba).any()
    assert panel(0, decimals=2).verdict() == "0.45 s sooner"
    assert panel(1, decimals=2).verdict() == "0.45 s later"


@pytest.mark.parametrize("style", style_names())
def test_every_style_draws_a_panel_of_even_size(style: str) -> None:
    one = panel(1, style)
    image = one.patches(Fraction(3), 0, 0)[0].image
    assert image.rgba.shape[:2] == one.size[::-1]
    assert all(side % 2 == 0 for side in one.size)


@pytest.mark.parametrize(("refreshes", "said"), [(4, "level within 0.07 s"), (5, "0.08 s later")])
def test_a_difference_that_measuring_may_have_made_is_none(refreshes: int, said: str) -> None:
    error_s = Fraction(2, 60)
    runners = [Runner("Merle", Fraction(n, 60), error_s) for n in (60, 60 + refreshes)]
    assert RacePanel(runners, 1, load_style("quay"), CANVAS, 760, 2).verdict() == said
