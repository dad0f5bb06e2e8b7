from __future__ import annotations

import math

import numpy as np
import pytest

from pacerail.sharpness.candidates import agreeing
from pacerail.sharpness.lone import alone, borne_out
from pacerail.sharpness.spectrum import Spectrum, spectrum
from pacerail.sharpness.trace import Strip, Trace

LENGTH = 720


def swinging(swing: float, cycles: int, phase: float = 0.0, seed: int = 1) -> Spectrum:
    """Sixteen strips of noise that swing together, `phase` cycles off their edge."""
    rng = np.random.default_rng(seed)
    place = (np.arange(LENGTH) + 0.5) * cycles / LENGTH + phase
    shared = swing * np.cos(2 * np.pi * place)
    strips = (Strip(0, 1 + 0.2 * rng.standard_normal(LENGTH) + shared) for _ in range(16))
    return spectrum(Trace(LENGTH, tuple(strips)))


@pytest.mark.parametrize(
    ("swing", "phase", "other"),
    [(0.03, 0.0, "alike"), (0.03, 0.25, "unclear"), (0.03, 0.5, "unclear"), (0.0, 0.0, "quiet")],
)
def test_what_the_other_direction_says_of_a_strong_one(
    swing: float, phase: float, other: str
) -> None:
    strong, weak = swinging(0.1, 100), swinging(swing, 100, phase, seed=2)
    found = alone(strong, weak, math.inf)
    assert found is not None
    assert found.share == pytest.approx(620 / 720)
    assert found.other == other


@pytest.mark.parametrize(("phase", "share"), [(0.0, 520 / 720), (0.5, 200 / 720)])
def test_the_phase_tells_more_from_less_than_half(phase: float, share: float) -> None:
    found = agreeing(swinging(0.06, 200, phase), swinging(0.06, 200, phase, seed=2))
    assert [finding.row_share for finding in found] == pytest.approx([share])


def test_directions_of_opposite_phase_do_not_agree() -> None:
    assert agreeing(swinging(0.03, 200), swinging(0.03, 200, 0.5, seed=2)) == []


def test_nothing_is_stretched_by_more_than_two_in_one_direction_only() -> None:
    found = alone(swinging(0.1, 200, 0.5), swinging(0.0, 200, seed=2), math.inf)
    assert found is not None
    assert found.share == pytest.approx(200 / 720)
    assert found.other == "unclear"


def test_a_strong_line_that_hardly_swings_is_no_size() -> None:
    """Steps of parallel lines that slant have a period; enlarging sways far more."""
    found = alone(swinging(0.04, 100), swinging(0.0, 100, seed=2), math.inf)
    assert found is None
    assert swinging(0.04, 100).strength_in_phase.max() > 45


def test_one_direction_bears_out_the_other() -> None:
    strong = swinging(0.1, 100)
    for other, shares in ((0.03, [620 / 720]), (0.0, [])):
        found = borne_out(swinging(other, 100, seed=2), strong)
        assert [finding.row_share for finding in found] == pytest.approx(shares)
        assert all(finding.rests_on_one for finding in found)
