from __future__ import annotations

from pathlib import Path

import av
import numpy as np
import pytest

from pacerail.capture.open import open_capture
from pacerail.capture.sampling import FIRST_PACKETS, LATER_PACKETS, Sample, sample_time_stamps
from tests.capture.recordings import record


def sample(path: Path) -> Sample:
    with av.open(str(path)) as container:
        return sample_time_stamps(container, container.streams.video[0])


def test_a_short_recording_is_read_whole(tmp_path: Path) -> None:
    sampled = sample(record(tmp_path / "a.mp4", range(50), options={"preset": "veryfast"}))
    assert (sampled.packets, sampled.is_complete) == (50, True)
    (stretch,) = sampled.stretches
    np.testing.assert_array_equal(np.sort(stretch), np.arange(50) * stretch.max() // 49)


@pytest.mark.parametrize("suffix", [".mp4", ".mkv", ".ts"])
def test_a_long_one_is_looked_into_further_in(tmp_path: Path, suffix: str) -> None:
    sampled = sample(record(tmp_path / f"a{suffix}", range(2000), size=(32, 32)))
    assert sampled.packets == FIRST_PACKETS + 2 * LATER_PACKETS
    assert len(sampled.stretches[0]) == FIRST_PACKETS
    assert all(later.min() > 0 for later in sampled.stretches[1:])


def test_a_recording_that_opens_slowly_has_its_full_rate(tmp_path: Path) -> None:
    ticks = [*range(0, 2400, 4), *range(2400, 4800)]
    with open_capture(record(tmp_path / "a.mp4", ticks, size=(32, 32))) as capture:
        assert capture.info.refresh_hz == 60


def test_packets_without_time_stamps_are_counted(tmp_path: Path) -> None:
    sampled = sample(record(tmp_path / "a.h264", range(30)))
    assert (sampled.packets, sampled.is_complete, sampled.stretches) == (30, False, ())


def test_a_restarted_clock_starts_a_new_stretch(tmp_path: Path) -> None:
    parts = [record(tmp_path / f"{n}.ts", range(100, 200)).read_bytes() for n in range(2)]
    joined = tmp_path / "joined.ts"
    joined.write_bytes(b"".join(parts))
    sampled = sample(joined)
    assert [len(stretch) for stretch in sampled.stretches] == [100, 100]
    with open_capture(joined) as capture:
        assert capture.info.refresh_hz == 60
