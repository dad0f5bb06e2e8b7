from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from pacerail.align.sound import Envelope, envelope_of, sound_offset

RATE_HZ = 16_000
# Half a step of the envelope.
NEAR_S = 0.005


def knocks(seed: int, length_s: float) -> np.ndarray:
    """Knocks of different pitch at irregular times, over soft noise."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(int(length_s * RATE_HZ)) / RATE_HZ
    sound = 0.003 * rng.standard_normal(len(time_s))
    for start_s in np.cumsum(rng.uniform(0.1, 0.5, int(2 * length_s))):
        since_s = np.maximum(time_s - start_s, 0)
        tone = np.sin(2 * np.pi * rng.uniform(100, 5000) * since_s)
        sound += 0.3 * (time_s >= start_s) * np.exp(-15 * since_s) * tone
    return sound.astype(np.float32)


def heard(sound: np.ndarray, start_s: float = 0.0) -> Envelope:
    def blocks() -> Iterator[tuple[float, np.ndarray]]:
        for first in range(0, len(sound), 1024):
            yield start_s + first / RATE_HZ, sound[first : first + 1024]

    envelope = envelope_of(blocks(), RATE_HZ)
    assert envelope is not None
    return envelope


@pytest.mark.parametrize("offset_s", [-1.2345, 0.0, 0.613, 2.75])
def test_the_offset_is_heard(offset_s: float) -> None:
    sound = knocks(1, 14.0)
    start, length = 4 * RATE_HZ, 7 * RATE_HZ
    other = start - round(offset_s * RATE_HZ)
    found_s = sound_offset(
        heard(sound[start : start + length]), heard(0.4 * sound[other : other + length])
    )
    assert found_s == pytest.approx(offset_s, abs=NEAR_S)


def test_sound_that_starts_later_than_the_pictures_counts_from_them() -> None:
    sound = knocks(2, 8.0)
    found_s = sound_offset(heard(sound), heard(sound, start_s=0.25))
    assert found_s == pytest.approx(0.25, abs=NEAR_S)


def test_a_gap_stays_a_gap() -> None:
    sound = knocks(3, 8.0)

    def with_gap() -> Iterator[tuple[float, np.ndarray]]:
        yield 0.0, sound[:RATE_HZ]
        yield 3.0, sound[3 * RATE_HZ :]

    envelope = envelope_of(with_gap(), RATE_HZ)
    assert envelope is not None
    assert len(envelope.rise) == pytest.approx(len(heard(sound).rise), abs=1)
    assert sound_offset(heard(sound), envelope) == pytest.approx(0.0, abs=NEAR_S)


@pytest.mark.parametrize("seed", range(4))
def test_other_sound_suggests_nothing(seed: int) -> None:
    assert sound_offset(heard(knocks(seed, 8.0)), heard(knocks(seed + 50, 8.0))) is None


@pytest.mark.parametrize("sound", [np.zeros(RATE_HZ, np.float32), np.zeros(100, np.float32)])
def test_silence_and_next_to_no_sound_have_no_envelope(sound: np.ndarray) -> None:
    assert envelope_of([(0.0, sound)], RATE_HZ) is None
    assert envelope_of([], RATE_HZ) is None
