from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

from pacerail.compose.moment import frame_on_screen
from tests.compose.clips import refresh_grid, write_clip


@pytest.mark.parametrize(
    ("codec", "pixel_format"), [("libx264", "yuv420p"), ("libx265", "yuv420p")]
)
def test_the_picture_is_exactly_that_of_plain_decoding(
    tmp_path: Path, codec: str, pixel_format: str
) -> None:
    options = {"preset": "veryfast", "crf": "20"}
    options |= {"x265-params": "log-level=none"} if codec == "libx265" else {}
    source = write_clip(
        tmp_path / "in.mp4",
        pictures=70,
        audio=None,
        codec=codec,
        pixel_format=pixel_format,
        options={**options, "g": "250"},
    )
    with av.open(str(source)) as container:
        wanted = [frame.to_ndarray() for frame in container.decode(video=0)]
    grid = refresh_grid(source, Fraction(60))
    with av.open(str(source)) as container:
        for refresh in (69, 0, 41, 40, 39, 38, 17):
            frame = frame_on_screen(container, container.streams.video[0], grid, refresh)
            assert np.array_equal(frame.to_ndarray(), wanted[refresh])


def test_a_lost_refresh_shows_the_picture_before(tmp_path: Path) -> None:
    pts = [*range(10), *range(50, 60)]
    source = write_clip(tmp_path / "in.mp4", pictures=20, audio=None, pts=pts)
    grid = refresh_grid(source, Fraction(60))
    with av.open(str(source)) as container:
        video = container.streams.video[0]
        for refresh, shown in ((9, 9), (30, 9), (49, 9), (50, 50), (90, 59)):
            frame = frame_on_screen(container, video, grid, refresh)
            assert grid(frame.pts or 0) == shown
