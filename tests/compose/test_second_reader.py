"""Everything written, read back by another program: the system's ffmpeg, where there is one."""

from __future__ import annotations

import shutil
import subprocess
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from pacerail.compose.alpha import ALPHA_CODECS, write_alpha_clip
from pacerail.compose.alpha_frames import composite, unpremultiply
from pacerail.compose.burn import burn_in
from pacerail.compose.encode import EncoderChoice
from pacerail.compose.layout import component_views, layout_of
from tests.compose.clips import decoded, overlay, refresh_grid, write_clip

FFMPEG = shutil.which("ffmpeg")
needs_ffmpeg = pytest.mark.skipif(
    FFMPEG is None, reason="no ffmpeg program found: files were not read by a second reader"
)
WIDTH, HEIGHT = 320, 180


def read_raw(path: Path, pixel_format: str, *before: str) -> bytes:
    command = [FFMPEG or "", "-v", "error", *before, "-i", str(path), "-map", "0:v:0"]
    command += ["-fps_mode", "passthrough", "-f", "rawvideo", "-pix_fmt", pixel_format, "-"]
    done = subprocess.run(command, capture_output=True, check=True)
    assert done.stderr == b""
    return done.stdout


def audio_seconds(path: Path) -> float:
    command = [FFMPEG or "", "-v", "error", "-i", str(path), "-map", "0:a:0"]
    command += ["-f", "s16le", "-ac", "1", "-ar", "48000", "-"]
    return len(subprocess.run(command, capture_output=True, check=True).stdout) / 2 / 48000


@needs_ffmpeg
@pytest.mark.parametrize(
    ("codec", "container_format", "pixel_format"),
    [
        ("h264", "mp4", "yuv420p"),
        ("hevc", "mov", "yuv420p"),
        ("prores", "mov", "yuv422p10le"),
        ("ffv1", "matroska", "yuv420p"),
    ],
)
@pytest.mark.parametrize("first_refresh", [0, 7])
def test_burned_clips(
    tmp_path: Path, codec: str, container_format: str, pixel_format: str, first_refresh: int
) -> None:
    source, target = write_clip(tmp_path / "in.mp4"), tmp_path / "out"
    with av.open(str(source)) as container:
        burn_in(
            container,
            container.streams.video[0],
            target,
            overlay,
            refresh_grid(source, Fraction(60)),
            container_format=container_format,
            encoder=EncoderChoice(codec),
            first_refresh=first_refresh,
        )
    frames = decoded(target)
    assert len(frames) == 40 - first_refresh
    assert frames[0].format.name == pixel_format
    layout = layout_of(pixel_format)
    ours = b"".join(
        samples.tobytes() for frame in frames for samples in component_views(frame, layout)
    )
    assert read_raw(target, pixel_format) == ours
    assert audio_seconds(target) == pytest.approx(len(frames) / 60, abs=0.05)


@needs_ffmpeg
@pytest.mark.parametrize("name", sorted(ALPHA_CODECS))
def test_alpha_clips(tmp_path: Path, name: str) -> None:
    codec = ALPHA_CODECS[name]
    path = tmp_path / f"overlay{codec.suffix}"
    write_alpha_clip(
        path,
        overlay,
        range(6),
        codec=codec,
        width=WIDTH,
        height=HEIGHT,
        rate=Fraction(60),
    )
    before = ("-c:v", "libvpx-vp9") if name == "vp9" else ()
    raw = np.frombuffer(read_raw(path, "rgba", *before), np.uint8)
    found: NDArray[np.uint8] = raw.reshape(-1, HEIGHT, WIDTH, 4)
    assert len(found) == 6
    for refresh, rgba in enumerate(found):
        expected = unpremultiply(composite(overlay(refresh), 0, 0, WIDTH, HEIGHT)).astype(int)
        error = np.abs(rgba.astype(int) - expected)
        assert error[..., 3].max() <= (0 if codec.layout.packed else 1)
        if codec.layout.packed:
            assert error[expected[..., 3] > 0].max() == 0
