from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from pacerail.compose.alpha import alpha_codec, write_alpha_clip
from pacerail.compose.straight import composite, unpremultiply
from pacerail.errors import UsageError
from tests.compose.clips import frame_time_s, overlay

RATE = Fraction(60000, 1001)
# Largest error of colour (where alpha is over 0) and of alpha, in 8-bit codes. Run-length
# and PNG are exact; ProRes rounds to 10-bit Y'CbCr twice and quantises.
TOLERANCE = {"animation": (0, 0), "png": (0, 0), "prores": (3, 1)}


def write(path: Path, name: str, pictures: int = 12) -> int:
    return write_alpha_clip(
        path,
        overlay,
        range(pictures),
        codec=alpha_codec(name, path),
        width=320,
        height=180,
        rate=RATE,
    )


def straight_rgba(frame: av.VideoFrame) -> NDArray[Any]:
    is_ycbcr = frame.format.name.startswith("yuv")
    return frame.reformat(format="rgba", src_colorspace="ITU709" if is_ycbcr else None).to_ndarray()


@pytest.mark.parametrize("name", sorted(TOLERANCE))
def test_alpha_comes_back(tmp_path: Path, name: str) -> None:
    path = tmp_path / "overlay.mov"
    assert write(path, name) == 12
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        assert stream.average_rate == RATE
        frames = list(container.decode(stream))
    assert [frame_time_s(frame) * RATE for frame in frames] == list(range(12))
    colour_limit, alpha_limit = TOLERANCE[name]
    for refresh, frame in enumerate(frames):
        expected = unpremultiply(composite(overlay(refresh), 0, 0, 320, 180)).astype(int)
        error = np.abs(straight_rgba(frame).astype(int) - expected)
        assert error[..., 3].max() <= alpha_limit
        assert error[..., :3][expected[..., 3] > 0].max() <= colour_limit


def test_overlapping_patches_equal_the_float_composite() -> None:
    patches = overlay(3)
    expected = np.zeros((180, 320, 4))
    for patch in patches:
        area = expected[patch.y : patch.y + patch.height, patch.x : patch.x + patch.width]
        rgba = patch.image.rgba.astype(float)
        area[...] = rgba + area * (1 - rgba[..., 3:] / 255)
    assert np.abs(composite(patches, 0, 0, 320, 180) - expected).max() <= 0.5 + 1e-9


def test_unknown_codec_and_wrong_suffix_are_refused() -> None:
    with pytest.raises(UsageError, match="alpha codec must be one of prores, animation, png"):
        alpha_codec("gif", Path("a.mov"))
    with pytest.raises(UsageError, match=r"output name must end in \.mov for prores"):
        alpha_codec("prores", Path("a.mp4"))
