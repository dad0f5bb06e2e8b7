from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from pacerail.compose.sound import BLOCK, SAMPLE_RATE, SideSound, SoundTrack, mixed, stereo_blocks

LEVEL = 0.25


def write_steps(
    path: Path,
    *,
    rate: int = SAMPLE_RATE,
    layout: str = "mono",
    first_s: Fraction = Fraction(0),
    steps: int = 20,
    missing: range = range(0),
) -> Path:
    """Tenths of a second of steady level, the n-th n times as loud as the first; lossless.

    missing : tenths that the recording lacks. Each further channel is half as loud.
    """
    channels = {"mono": 1, "stereo": 2}[layout]
    size = rate // 10
    with av.open(str(path), "w") as output:
        stream = output.add_stream("pcm_s16le", rate=rate, layout=layout)
        for step in range(steps):
            if step in missing:
                continue
            value = round(level(step) * (2**15 - 1))
            samples = np.repeat([[value >> channel for channel in range(channels)]], size, 0)
            frame = av.AudioFrame.from_ndarray(
                samples.astype(np.int16).reshape(1, -1), "s16", layout
            )
            frame.sample_rate, frame.time_base = rate, Fraction(1, rate)
            frame.pts = round(first_s * rate) + step * size
            output.mux(stream.encode(frame))
        output.mux(stream.encode(None))
    return path


def level(step: int) -> float:
    return (step + 1) / 100


def heard(path: Path, start_s: Fraction, samples: int) -> NDArray[np.float32]:
    with av.open(str(path)) as container:
        sound = SideSound(container, container.streams.audio[0], start_s)
        return np.concatenate(list(mixed([sound], samples)), axis=1)


def joined(blocks: Any) -> NDArray[np.float32]:
    return np.concatenate(list(blocks), axis=1)


@pytest.mark.parametrize("suffix", ["mov", "mkv"])
@pytest.mark.parametrize("start_s", [Fraction(0), Fraction(1, 4), Fraction(7, 11)])
def test_sound_starts_with_the_picture_to_the_sample(
    tmp_path: Path, suffix: str, start_s: Fraction
) -> None:
    path = write_steps(tmp_path / f"steps.{suffix}")
    samples = heard(path, start_s, SAMPLE_RATE)
    assert samples.shape == (2, SAMPLE_RATE)
    moments = np.arange(SAMPLE_RATE) + round(start_s * SAMPLE_RATE)
    wanted = (moments // (SAMPLE_RATE // 10) + 1) / 100
    # A millisecond of rounding in the container moves a step by at most 48 samples.
    slack = 48 if suffix == "mkv" else 0
    wrong = np.abs(samples[0] - wanted) > 1e-3
    assert wrong.sum() <= slack * 10
    np.testing.assert_array_equal(samples[0], samples[1])


def test_sound_of_another_rate_keeps_its_pace(tmp_path: Path) -> None:
    path = write_steps(tmp_path / "steps.mov", rate=44_100)
    samples = heard(path, Fraction(1, 2), SAMPLE_RATE)
    middles = samples[0, SAMPLE_RATE // 20 :: SAMPLE_RATE // 10]
    np.testing.assert_allclose(middles, [level(step) for step in range(5, 15)], atol=1e-3)


def test_what_a_recording_lacks_is_silence(tmp_path: Path) -> None:
    path = write_steps(tmp_path / "steps.mkv", first_s=Fraction(1, 5), missing=range(4, 6))
    samples = heard(path, Fraction(0), 3 * SAMPLE_RATE)
    middles = samples[0, SAMPLE_RATE // 20 :: SAMPLE_RATE // 10]
    wanted = [level(step) if 0 <= step < 20 and step not in (4, 5) else 0 for step in range(-2, 28)]
    np.testing.assert_allclose(middles, wanted, atol=1e-3)


def test_of_two_sides_each_is_heard_from_its_own(tmp_path: Path) -> None:
    paths = [
        write_steps(tmp_path / f"{layout}.mov", layout=layout) for layout in ("mono", "stereo")
    ]
    with av.open(str(paths[0])) as left, av.open(str(paths[1])) as right:
        sounds = [
            SideSound(left, left.streams.audio[0], Fraction(0)),
            SideSound(right, right.streams.audio[0], Fraction(1)),
        ]
        samples = joined(mixed(sounds, SAMPLE_RATE // 2))
    middles = samples[:, SAMPLE_RATE // 20 :: SAMPLE_RATE // 10]
    np.testing.assert_allclose(middles[0], [level(step) for step in range(5)], atol=1e-3)
    # The mean of a channel and one half as loud.
    wanted = [0.75 * level(step) for step in range(10, 15)]
    np.testing.assert_allclose(middles[1], wanted, atol=1e-3)


def test_a_side_without_sound_is_silent_beside_the_other(tmp_path: Path) -> None:
    path = write_steps(tmp_path / "steps.mov")
    with av.open(str(path)) as container:
        sound = SideSound(container, container.streams.audio[0], Fraction(0))
        samples = joined(mixed([None, sound], 1000))
    assert not samples[0].any()
    assert samples[1].min() > 0


def test_blocks_follow_each_other_without_a_gap(tmp_path: Path) -> None:
    path = write_steps(tmp_path / "steps.mov")
    with av.open(str(path)) as container:
        sound = SideSound(container, container.streams.audio[0], Fraction(1, 2))
        assert joined(stereo_blocks(sound)).shape == (2, SAMPLE_RATE * 3 // 2)


@pytest.mark.parametrize("samples", [1, BLOCK, 3 * BLOCK + 7])
def test_a_track_holds_the_samples_it_was_given(tmp_path: Path, samples: int) -> None:
    path = tmp_path / "track.mp4"
    # Edit lists are counted in this scale; the usual milliseconds would round the end.
    scale = {"movie_timescale": str(SAMPLE_RATE)}
    with av.open(str(path), "w", container_options=scale) as output:
        track = SoundTrack(output, iter(mixed([None], samples)))
        for moment in range(4):
            track.write_until(Fraction(moment, 100))
        track.finish()
    with av.open(str(path)) as container:
        stream = container.streams.audio[0]
        packets = [packet for packet in container.demux(stream) if packet.pts is not None]
        # An encoder delay of one block precedes; the edit list skips it.
        assert packets[0].pts in (-BLOCK, 0)
        last = packets[-1]
        assert last.pts is not None
        assert last.pts + (last.duration or 0) >= samples
        assert last.pts < samples
