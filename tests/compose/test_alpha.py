from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from pacerail.compose.alpha import (
    ALPHA_CODECS,
    alpha_codec,
    placement_text,
    write_alpha_clip,
    write_png_sequence,
)
from pacerail.compose.alpha_frames import composite, convert, unpremultiply
from pacerail.errors import UsageError
from pacerail.patch import Patch
from tests.compose.clips import frame_time_s, overlay

RATE = Fraction(60000, 1001)
# Largest error of colour (where alpha is over 0) and of alpha, in 8-bit codes. Run-length
# and PNG are exact; ProRes rounds to 10-bit Y'CbCr twice and quantises.
# VP9 is lossless in Y'CbCr, but halves chroma: its limit is told on flat parts only.
TOLERANCE = {"animation": (0, 0), "png": (0, 0), "prores": (3, 1)}
CROP = (60, 116, 200, 50)


def write(path: Path, name: str, pictures: int = 12, **options: Any) -> int:
    return write_alpha_clip(
        path,
        overlay,
        range(pictures),
        codec=alpha_codec(name, path),
        width=320,
        height=180,
        rate=RATE,
        **options,
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
    if name == "prores":
        # BT.709 throughout (ITU-T H.273), as editing programs read it from the pictures.
        first = frames[0]
        assert (first.colorspace, first.color_primaries, first.color_trc) == (1, 1, 1)
    colour_limit, alpha_limit = TOLERANCE[name]
    for refresh, frame in enumerate(frames):
        expected = unpremultiply(composite(overlay(refresh), 0, 0, 320, 180)).astype(int)
        error = np.abs(straight_rgba(frame).astype(int) - expected)
        assert error[..., 3].max() <= alpha_limit
        assert error[..., :3][expected[..., 3] > 0].max() <= colour_limit


def test_vp9_carries_alpha_for_a_decoder_that_looks_for_it(tmp_path: Path) -> None:
    path = tmp_path / "overlay.webm"
    assert write(path, "vp9") == 12
    decoder = av.CodecContext.create("libvpx-vp9", "r")
    with av.open(str(path)) as container:
        packets = container.demux(video=0)
        frames = [frame for packet in packets for frame in decoder.decode(packet)]
    assert len(frames) == 12
    assert isinstance(frames[0], av.VideoFrame)
    found = straight_rgba(frames[0]).astype(int)
    expected = unpremultiply(composite(overlay(0), 0, 0, 320, 180)).astype(int)
    assert np.abs(found[..., 3] - expected[..., 3]).max() <= 1
    flat = (slice(130, 148), slice(80, 104))  # the inside of the opaque orange square
    assert np.abs(found[flat] - expected[flat]).max() <= 3


def test_half_transparent_edges_keep_their_colour_in_4_2_0() -> None:
    layout = ALPHA_CODECS["vp9"].layout
    rgba = np.zeros((8, 8, 4), np.uint8)
    rgba[:, 3:] = (200, 0, 0, 200)  # straight: full red, from an odd column on
    flat = np.full((8, 8, 4), (255, 0, 0, 255), np.uint8)
    for component in (1, 2):
        edge = convert(rgba, layout)[component]
        full = convert(flat, layout)[component]
        assert (edge[:, 1:] == full[:, 1:]).all()


def test_premultiplied_colour_is_left_as_drawn(tmp_path: Path) -> None:
    path = tmp_path / "overlay.mov"
    write(path, "animation", 1, premultiplied=True)
    with av.open(str(path)) as container:
        frame = next(container.decode(video=0))
    assert (straight_rgba(frame) == composite(overlay(0), 0, 0, 320, 180)).all()


@pytest.mark.parametrize("name", sorted(TOLERANCE))
def test_a_cropped_clip_is_the_rectangle_of_the_whole(tmp_path: Path, name: str) -> None:
    path = tmp_path / "overlay.mov"
    write(path, name, 4, rectangle=CROP, start_timecode="00:59:59;56")
    x, y, width, height = CROP
    with av.open(str(path)) as container:
        assert container.streams.video[0].metadata["timecode"] == "00:59:59;56"
        frames = list(container.decode(video=0))
    for refresh, frame in enumerate(frames):
        assert (frame.width, frame.height) == (width, height)
        expected = unpremultiply(composite(overlay(refresh), x, y, width, height))
        error = np.abs(straight_rgba(frame)[..., 3].astype(int) - expected[..., 3])
        assert error.max() <= TOLERANCE[name][1]
    placement = json.loads(placement_text(CROP, 320, 180))
    assert (placement["canvas_width"], placement["canvas_height"]) == (320, 180)
    assert (placement["x"], placement["y"]) == (x, y)
    assert (placement["centre_x"], placement["centre_y"]) == (160, 141)


def test_png_sequence_is_exact(tmp_path: Path) -> None:
    folder = tmp_path / "overlay"
    done: list[int] = []
    count = write_png_sequence(
        folder, overlay, range(3, 8), width=320, height=180, progress=done.append
    )
    assert count == 5
    assert done == [1, 2, 3, 4, 5]
    assert sorted(file.name for file in folder.iterdir()) == [f"{n:06}.png" for n in range(5)]
    for number in range(5):
        with av.open(str(folder / f"{number:06}.png")) as container:
            found = next(container.decode(video=0)).to_ndarray(format="rgba")
        expected = unpremultiply(composite(overlay(3 + number), 0, 0, 320, 180))
        assert (found == expected).all()


def test_an_error_while_drawing_travels(tmp_path: Path) -> None:
    def broken(refresh: int) -> list[Patch]:
        raise ZeroDivisionError("drawing broke")

    with pytest.raises(ZeroDivisionError):
        write_png_sequence(tmp_path / "overlay", broken, range(5), width=320, height=180)


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
