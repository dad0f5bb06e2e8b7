from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacerail.sharpness.look import look_at
from pacerail.sharpness.quarters import MOST_DOUBT, quarter_doubt, quarter_sums
from pacerail.sharpness.spectrum import Spectrum, spectrum
from pacerail.sharpness.trace import LEAST_BEND, Strip, Trace, relative_bend, strip_means
from tests.bench.pixels import enlarged, reference_enlarged


def noise(rows: int, columns: int, seed: int = 1) -> np.ndarray:
    return np.random.default_rng(seed).integers(20, 230, (rows, columns)).astype(np.uint8)


@given(st.floats(2, 50), st.floats(-3, 3))
def test_bend_knows_neither_level_nor_slope(level: float, slope: float) -> None:
    ramp = (level + slope * np.arange(40, dtype=np.float32))[:, None].repeat(3, axis=1)
    assert np.abs(relative_bend(ramp.astype(np.float32))).max() < 1e-3


@given(st.floats(3, 40))
def test_bend_is_the_same_for_every_strong_contrast(factor: float) -> None:
    samples = noise(60, 5).astype(np.float32)
    plain, strong = (
        relative_bend(1000 * samples),
        relative_bend(1000 * np.float32(factor) * samples),
    )
    np.testing.assert_allclose(plain, strong, rtol=2e-3, atol=1e-3)


def test_bend_is_the_second_derivative_over_its_mean_nearby() -> None:
    samples = noise(50, 4).astype(np.float32)
    second = np.abs(np.diff(samples, n=2, axis=0))
    second = np.vstack([second[:1], second, second[-1:]])
    row = 25
    mean = second[row - 8 : row + 9].mean(axis=0)
    np.testing.assert_allclose(
        relative_bend(samples)[row], second[row] / (mean + LEAST_BEND), rtol=1e-5
    )


def test_strips_share_the_width_out() -> None:
    assert strip_means(noise(200, 1000).astype(np.float32)).shape == (16, 200)
    assert strip_means(noise(200, 100).astype(np.float32)).shape == (2, 200)
    assert strip_means(noise(100, 500).astype(np.float32)).shape == (0, 100)


@pytest.mark.parametrize("native", [270, 300, 324, 288, 264, 216, 150, 108])
def test_the_period_of_an_enlarged_picture_is_seen_where_theory_has_it(native: int) -> None:
    """Gallagher, CRV 2005: native / shown, folded; exact to one line."""
    shown = enlarged(noise(native, 640), 360, 640, "bilinear")
    rows, _ = (spectrum(trace) for trace in look_at(shown, 8).traces())
    folded = min(native / 360, 1 - native / 360)
    best = int(np.argmax(np.where(rows.frequency > 0.05, rows.swing, 0)))
    assert rows.frequency[best] == pytest.approx(folded, abs=0.5 / 360)
    assert rows.strength[best] > 10
    expected_phase = 0 if native > 180 else 0.5
    assert abs(rows.phase[best]) == pytest.approx(expected_phase, abs=0.03)


def test_an_exact_factor_of_two_leaves_no_period() -> None:
    """Both phases are mirror images of each other, so nothing alternates."""
    shown = enlarged(noise(180, 640), 360, 640, "bilinear")
    rows, _ = (spectrum(trace) for trace in look_at(shown, 8).traces())
    assert rows.swing[rows.frequency > 0.05].max() < 0.05


def test_strength_of_noise_is_exponential_with_mean_one() -> None:
    """So that its tail is a false alarm rate: exp(-s) of all frequencies exceed s."""
    rng = np.random.default_rng(3)
    strengths = []
    for _ in range(20):
        strips = tuple(Strip(0, 1 + 0.1 * rng.standard_normal(720)) for _ in range(16))
        strengths.append(spectrum(Trace(720, strips)).strength[30:-8])
    found = np.concatenate(strengths)
    assert found.mean() == pytest.approx(1, abs=0.15)
    for limit in (1.0, 3.0, 5.0):
        expected = np.exp(-limit)
        error = 4 * np.sqrt(expected / len(found)) + 0.1 * expected
        assert np.mean(found > limit) < expected + error


def test_strength_in_phase_is_the_chance_of_noise() -> None:
    """-ln erfc(sqrt s), of Python's own error function; a quarter cycle off nothing is left."""
    strength = np.array([0.0, 1.0, 9.0, 9.0, 25.0])
    phase = np.array([0.0, 0.0, 0.5, 0.25, 0.0])
    found = Spectrum(strength, strength, strength, phase, 1.0).strength_in_phase
    expected = [-math.log(math.erfc(x)) for x in (0.0, 1.0, 3.0, 0.0, 5.0)]
    assert found == pytest.approx(expected, abs=0.06)


def test_one_strip_cannot_speak_for_all() -> None:
    rng = np.random.default_rng(4)
    fence = 1 + 0.8 * np.cos(2 * np.pi * 0.2 * np.arange(720))
    plain = [1 + 0.1 * rng.standard_normal(720) for _ in range(15)]
    alone = spectrum(Trace(720, tuple(Strip(0, bend) for bend in (*plain, fence))))
    everywhere = spectrum(Trace(720, tuple(Strip(0, bend * fence) for bend in (*plain, fence))))
    assert alone.strength[144] < 8
    assert everywhere.strength[144] > 40


@pytest.mark.parametrize("kernel", ["bilinear", "bicubic"])
def test_libswscale_enlarges_as_the_textbook_does(kernel: str) -> None:
    """So that what the bench finds is of the kernels, not of one library.

    libswscale's default cubic is Mitchell-like (its parameters are 0 and 0.6), so it comes
    near Keys' and not onto it; linear is the same to rounding.
    """
    small = noise(270, 64)
    ours = reference_enlarged(small.astype(float), 360, kernel)
    theirs = enlarged(small, 360, 64, kernel).astype(float)
    assert np.abs(ours - theirs).mean() < (1.0 if kernel == "bilinear" else 4.0)
    rows, _ = (
        spectrum(trace)
        for trace in look_at(np.clip(np.rint(ours), 0, 255).astype(np.uint8), 8).traces()
    )
    assert rows.frequency[np.argmax(rows.swing)] == pytest.approx(0.25)


@pytest.mark.parametrize("kernel", ["bilinear", "bicubic"])
def test_one_of_every_four_follows_from_the_others(kernel: str) -> None:
    """By the textbook formula, unrounded: the weights were solved for to make this nothing."""
    small = noise(270, 300).astype(float)
    sums = quarter_sums(reference_enlarged(small, 360, kernel).astype(np.float32), 0)
    means = sums[0] / sums[2]
    assert means[[1, 5]].max() < (0.002 if kernel == "bicubic" else 0.03)
    assert means[[0, 2, 3, 4, 6, 7]].min() > 0.1
    assert quarter_doubt(sums) < MOST_DOUBT


@pytest.mark.parametrize("rows", [90, 180, 216, 240, 300, 324])
def test_no_other_size_is_three_quarters(rows: int) -> None:
    small = noise(rows, 600).astype(float)
    for kernel in ("bilinear", "bicubic"):
        shown = reference_enlarged(small, 360, kernel).astype(np.float32)
        assert quarter_doubt(quarter_sums(shown, 0)) > MOST_DOUBT + 0.05


@pytest.mark.parametrize("factor", [2, 4, 8])
def test_repeated_samples_are_not_three_quarters(factor: int) -> None:
    shown = noise(360 // factor, 600).repeat(factor, axis=0).astype(np.float32)
    assert quarter_doubt(quarter_sums(shown, 0)) > MOST_DOUBT + 0.05


@pytest.mark.parametrize("size", [4, 8])
def test_smooth_blocks_are_not_three_quarters(size: int) -> None:
    """What is left of blocks when only the two slowest waves of the DCT are kept."""
    wave = np.cos(np.pi * (2 * np.arange(size) + 1) / (2 * size))
    parts = np.random.default_rng(2).normal(0, 40, (2, 360 // size, 1, 300))
    blocks = 128 + parts[0] + parts[1] * wave[:, None]
    assert (
        quarter_doubt(quarter_sums(blocks.reshape(360, 300).astype(np.float32), 0))
        > MOST_DOUBT + 0.05
    )


def test_a_region_keeps_its_place_in_fours() -> None:
    samples = noise(120, 200).astype(np.float32)
    whole = quarter_sums(samples, 0)
    part = quarter_sums(samples[7:], 7)
    np.testing.assert_allclose(whole[:2] / whole[2], part[:2] / part[2], atol=0.05)
