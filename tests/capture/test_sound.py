from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

from pacerail.capture.sound import SAMPLE_RATE_HZ, sound_blocks
from pacerail.errors import InputError
from tests.capture.recordings import record


def record_clicks(path: Path, click_s: float, rate_hz: int = 48_000) -> Path:
    """A recording of two seconds of pictures and stereo sound with one click."""
    samples = np.zeros((2, 2 * rate_hz), np.float32)
    samples[:, round(click_s * rate_hz) : round((click_s + 0.01) * rate_hz)] = 0.5
    with av.open(str(path), "w") as container:
        video = container.add_stream("libx264", rate=30)
        assert isinstance(video, av.VideoStream)
        video.width, video.height, video.pix_fmt = 64, 48, "yuv420p"
        audio = container.add_stream("pcm_s16le", rate=rate_hz, layout="stereo")
        assert isinstance(audio, av.AudioStream)
        for number in range(60):
            picture = av.VideoFrame.from_ndarray(np.full((48, 64, 3), 4 * number, np.uint8))
            picture.pts, picture.time_base = number, Fraction(1, 30)
            container.mux(video.encode(picture))
        container.mux(video.encode(None))
        whole = np.rint(samples.T.reshape(1, -1) * 32767).astype(np.int16)
        frame = av.AudioFrame.from_ndarray(whole, "s16", "stereo")
        frame.sample_rate, frame.pts = rate_hz, 0
        container.mux(audio.encode(frame))
        container.mux(audio.encode(None))
    return path


@pytest.mark.parametrize("rate_hz", [44_100, 48_000])
def test_a_click_is_heard_when_it_sounds(tmp_path: Path, rate_hz: int) -> None:
    blocks = list(sound_blocks(record_clicks(tmp_path / "click.mkv", 1.25, rate_hz)))
    loudest = max(blocks, key=lambda block: float(block.samples.max()))
    place = int(np.argmax(loudest.samples > 0.25))
    assert float(loudest.start_s) + place / SAMPLE_RATE_HZ == pytest.approx(1.25, abs=0.002)
    assert sum(len(block.samples) for block in blocks) == pytest.approx(2 * SAMPLE_RATE_HZ, abs=200)
    assert all(block.samples.dtype == np.float32 for block in blocks)


def test_a_capture_without_sound_has_no_blocks(tmp_path: Path) -> None:
    assert list(sound_blocks(record(tmp_path / "silent.mp4", range(5)))) == []


def test_what_is_no_video_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="capture must exist"):
        list(sound_blocks(tmp_path / "gone.mp4"))
