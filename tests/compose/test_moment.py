from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

from pacerail.compose.moment import frame_on_screen
from tests.compose.clips import refresh_grid, write_clip

# Containers and codecs whose key pictures, discarding and seeking differ.
KINDS = {
    "h264": ("libx264", "mp4", {"preset": "veryfast"}),
    "open groups": (
        "libx264",
        "mp4",
        {"preset": "veryfast", "g": "20", "x264-params": "open-gop=1"},
    ),
    "no key pictures": ("libx264", "mp4", {"preset": "veryfast", "intra-refresh": "1", "g": "20"}),
    "transport stream": ("libx264", "mpegts", {"preset": "veryfast"}),
    "hevc": ("libx265", "mp4", {"preset": "veryfast", "x265-params": "log-level=none"}),
    "vp9": ("libvpx-vp9", "matroska", {"deadline": "realtime", "cpu-used": "8"}),
    "av1": ("libsvtav1", "mp4", {"preset": "10", "crf": "35", "svtav1-params": "lp=1"}),
}


@pytest.mark.parametrize("kind", KINDS)
def test_the_picture_is_exactly_that_of_plain_decoding(
    tmp_path: Path, kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SVT_LOG", "1")
    codec, container_format, options = KINDS[kind]
    source = write_clip(
        tmp_path / "in.video",
        container_format=container_format,
        pictures=70,
        audio=None,
        codec=codec,
        options={"g": "250", **options},
    )
    with av.open(str(source)) as container:
        wanted = [frame.to_ndarray() for frame in container.decode(video=0)]
    grid = refresh_grid(source, Fraction(60))
    with av.open(str(source)) as container:
        for refresh in (69, 0, 41, 40, 39, 38, 20, 19, 17):
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


def test_a_picture_that_cannot_be_decoded_gives_way_to_the_one_before(tmp_path: Path) -> None:
    source = write_clip(
        tmp_path / "in.mp4", pictures=12, audio=None, codec="mjpeg", pixel_format="yuvj420p"
    )
    with av.open(str(source)) as container:
        packets = [packet for packet in container.demux(video=0) if packet.size]
        place, size = packets[7].pos, packets[7].size
    data = bytearray(source.read_bytes())
    assert place is not None
    data[place : place + size] = bytes(size)
    source.write_bytes(data)
    grid = refresh_grid(source, Fraction(60))
    with av.open(str(source)) as container:
        video = container.streams.video[0]
        for refresh, shown in ((6, 6), (7, 6), (8, 8)):
            frame = frame_on_screen(container, video, grid, refresh)
            assert grid(frame.pts or 0) == shown
