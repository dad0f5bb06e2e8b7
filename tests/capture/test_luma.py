from __future__ import annotations

import av
import numpy as np
import pytest

from pacerail.capture.luma import luma_layout
from pacerail.errors import InputError

ROWS, COLUMNS = 18, 34


def random_frame(pixel_format: str) -> av.VideoFrame:
    """A frame whose planes, padding included, hold random bytes."""
    frame = av.VideoFrame(COLUMNS, ROWS, pixel_format)
    random = np.random.default_rng(3)
    for plane in frame.planes:
        plane.update(random.integers(0, 256, plane.buffer_size, np.uint8).tobytes())
    return frame


def samples(frame: av.VideoFrame, plane: int, dtype: str) -> np.ndarray:
    """A plane read the plain way: bytes, rows, and the padding cut off."""
    source = frame.planes[plane]
    rows = np.frombuffer(bytes(source), np.uint8).reshape(-1, source.line_size)
    return rows.view(dtype)[:ROWS, :COLUMNS]


@pytest.mark.parametrize(
    ("pixel_format", "plane", "dtype", "shift", "depth"),
    [
        ("yuv420p", 0, "u1", 0, 8),
        ("yuvj420p", 0, "u1", 0, 8),
        ("nv12", 0, "u1", 0, 8),
        ("yuv444p", 0, "u1", 0, 8),
        ("gray", 0, "u1", 0, 8),
        ("gbrp", 0, "u1", 0, 8),
        ("yuv420p10le", 0, "<u2", 0, 10),
        ("yuv422p10be", 0, ">u2", 0, 10),
        ("yuv444p12le", 0, "<u2", 0, 12),
        ("gbrp10le", 0, "<u2", 0, 10),
        ("p010le", 0, "<u2", 6, 10),
        ("yuv420p16le", 0, "<u2", 4, 12),
    ],
)
def test_luma_is_the_first_plane(
    pixel_format: str, plane: int, dtype: str, shift: int, depth: int
) -> None:
    frame = random_frame(pixel_format)
    layout = luma_layout(pixel_format)
    luma = layout.view(frame)
    assert layout.bit_depth == depth
    assert luma.dtype == np.uint8 if depth == 8 else np.uint16
    # Planar RGB keeps green in its first plane (libavutil/pixfmt.h), which stands in for luma.
    np.testing.assert_array_equal(luma, samples(frame, plane, dtype) >> shift)


@pytest.mark.parametrize(
    "pixel_format", ["rgb24", "bgr24", "rgba", "bgra", "argb", "abgr", "rgb0", "bgr0"]
)
def test_packed_rgb_stands_in_with_green(pixel_format: str) -> None:
    frame = av.VideoFrame.from_ndarray(
        np.random.default_rng(4).integers(0, 256, (ROWS, COLUMNS, 3), np.uint8), "rgb24"
    ).reformat(format=pixel_format)
    np.testing.assert_array_equal(
        luma_layout(pixel_format).view(frame), frame.to_ndarray(format="rgb24")[..., 1]
    )


@pytest.mark.parametrize(
    ("pixel_format", "offset"), [("yuyv422", 0), ("yvyu422", 0), ("uyvy422", 1)]
)
def test_packed_luma_is_picked_out(pixel_format: str, offset: int) -> None:
    frame = random_frame(pixel_format)
    plane = frame.planes[0]
    rows = np.frombuffer(bytes(plane), np.uint8).reshape(-1, plane.line_size)[:ROWS]
    np.testing.assert_array_equal(
        luma_layout(pixel_format).view(frame), rows[:, offset : 2 * COLUMNS : 2]
    )


def test_a_plain_plane_is_neither_copied_nor_writable() -> None:
    frame = random_frame("yuv420p")
    luma = luma_layout("yuv420p").view(frame)
    memory = np.frombuffer(memoryview(frame.planes[0]), np.uint8)
    assert np.shares_memory(luma, memory)
    with pytest.raises(ValueError, match="read-only"):
        luma[0, 0] = 1


def test_a_view_outlives_the_frame() -> None:
    expected = samples(random_frame("yuv420p"), 0, "u1").copy()
    np.testing.assert_array_equal(luma_layout("yuv420p").view(random_frame("yuv420p")), expected)


@pytest.mark.parametrize(
    "pixel_format", ["pal8", "monow", "bayer_bggr8", "rgb48le", "rgb565le", "unknown"]
)
def test_what_has_no_luma_is_refused(pixel_format: str) -> None:
    with pytest.raises(InputError, match=f"pixel format must have a luma plane.*{pixel_format}"):
        luma_layout(pixel_format)
