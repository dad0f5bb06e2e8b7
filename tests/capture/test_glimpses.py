from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from pacerail.capture.glimpses import glimpses
from pacerail.capture.stills import rgb_stills
from tests.capture.recordings import COLUMNS, ROWS, record

LOSSLESS = {"preset": "ultrafast", "qp": "0", "g": "10"}


@pytest.fixture
def capture(tmp_path: Path) -> Path:
    """120 pictures, each of another frame, a picture to start from at every tenth."""
    return record(tmp_path / "glider.mp4", range(120), options=LOSSLESS)


def test_glimpses_come_from_all_over(capture: Path) -> None:
    seen = list(glimpses(capture, 6))
    assert len(seen) == 6
    assert all(luma.shape == (ROWS, COLUMNS) and depth == 8 for luma, depth in seen)
    assert len({luma.tobytes() for luma, _ in seen}) == 6


def test_a_file_that_can_only_be_read_from_the_start_gives_glimpses(tmp_path: Path) -> None:
    raw = record(tmp_path / "glider.h264", range(40), container_format="h264")
    assert 1 <= len(list(glimpses(raw, 5))) <= 5


def test_stills_are_what_is_on_screen_at_a_moment(tmp_path: Path) -> None:
    frames = [k // 4 for k in range(60)]
    path = record(tmp_path / "held.mp4", range(60), frames=frames, options=LOSSLESS)
    early, late, after = rgb_stills(path, [8 / 60, 11.5 / 60, 12 / 60], COLUMNS)
    assert early.shape == (ROWS, COLUMNS, 3)
    np.testing.assert_array_equal(early, late)
    assert np.abs(after.astype(int) - late).mean() > 1


def test_stills_have_the_width_asked_for(capture: Path) -> None:
    (still,) = rgb_stills(capture, [0.5], 200)
    assert still.shape == (150, 200, 3)
