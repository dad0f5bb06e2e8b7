from __future__ import annotations

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from pacerail.compose.layout import component_views, layout_of
from pacerail.compose.seen import seen_picture, spread_chroma
from pacerail.errors import InputError

# Colour bars as Y', Cb, Cr with the R'G'B' in percent that they stand for. 75 % and 100 %
# bars of BT.709 and BT.601: tables of FFmpeg's test sources (libavfilter/vsrc_testsrc.c).
# BT.2020 in 10 bits: ITU-R BT.2020-2 weights worked out with colour-science 0.4.7.
BARS = {
    "709 75 %": (
        1,
        8,
        75,
        {
            (1, 1, 1): (180, 128, 128),
            (1, 1, 0): (168, 44, 136),
            (0, 1, 1): (145, 147, 44),
            (0, 1, 0): (133, 63, 52),
            (1, 0, 1): (63, 193, 204),
            (1, 0, 0): (51, 109, 212),
            (0, 0, 1): (28, 212, 120),
        },
    ),
    "601 100 %": (
        6,
        8,
        100,
        {
            (1, 1, 1): (235, 128, 128),
            (1, 1, 0): (210, 16, 146),
            (0, 1, 1): (170, 166, 16),
            (0, 1, 0): (145, 54, 34),
            (1, 0, 1): (106, 202, 222),
            (1, 0, 0): (81, 90, 240),
            (0, 0, 1): (41, 240, 110),
        },
    ),
    "2020 100 %": (
        9,
        10,
        100,
        {
            (1, 1, 1): (940, 512, 512),
            (1, 1, 0): (888, 64, 548),
            (0, 1, 1): (710, 637, 64),
            (0, 1, 0): (658, 189, 100),
            (1, 0, 1): (346, 835, 924),
            (1, 0, 0): (294, 387, 960),
            (0, 0, 1): (116, 960, 476),
        },
    ),
}
# A code of narrow range is worth 255/219 codes of R'G'B'; the published codes are rounded
# in three components, whose errors add up.
BAR_TOLERANCE = 2.3
WEIGHTS = {1: (0.2126, 0.0722), 6: (0.299, 0.114), 9: (0.2627, 0.0593)}


def frame_of(
    codes: NDArray[np.int64], matrix: int, depth: int, colour_range: int = 1
) -> av.VideoFrame:
    """A 4:4:4 frame of codes, shape (rows, columns, 3)."""
    name = "yuv444p" if depth == 8 else f"yuv444p{depth}le"
    frame = av.VideoFrame(codes.shape[1], codes.shape[0], name)
    for number, view in enumerate(component_views(frame, layout_of(name))):
        view[...] = codes[..., number]
    frame.colorspace, frame.color_range = matrix, colour_range
    frame.color_primaries, frame.color_trc = 1, 1
    return frame


def reference(codes: NDArray[np.int64], matrix: int, depth: int, full: bool) -> NDArray[np.float64]:
    """R'G'B' 0..1 by the equations of ITU-R BT.709 item 3, solved for R', G', B'."""
    red, blue = WEIGHTS[matrix]
    scale = 2 ** (depth - 8)
    top = 2**depth - 1
    luma = codes[..., 0] / top if full else (codes[..., 0] / scale - 16) / 219
    span = top if full else 224 * scale
    from_blue, from_red = ((codes[..., n] - 128 * scale) / span for n in (1, 2))
    r = luma + 2 * (1 - red) * from_red
    b = luma + 2 * (1 - blue) * from_blue
    g = (luma - red * r - blue * b) / (1 - red - blue)
    rgb: NDArray[np.float64] = np.clip(np.stack([r, g, b], -1), 0, 1)
    return rgb


@pytest.mark.parametrize("name", BARS)
def test_colour_bars_come_out_right(name: str) -> None:
    matrix, depth, percent, bars = BARS[name]
    codes = np.repeat(np.array([list(bars.values())]), 4, axis=0)
    rgb = seen_picture(frame_of(codes, matrix, depth)).rgb
    assert rgb.dtype == (np.uint8 if depth == 8 else np.uint16)
    wanted = np.array(list(bars)) * percent / 100 * 255
    assert np.abs(rgb[2] / (1 if depth == 8 else 257) - wanted).max() < BAR_TOLERANCE


@pytest.mark.parametrize("matrix", [1, 6, 9])
@pytest.mark.parametrize("depth", [8, 10])
@pytest.mark.parametrize("full", [False, True])
def test_any_code_agrees_with_a_float_reference(matrix: int, depth: int, full: bool) -> None:
    codes = np.random.default_rng(3).integers(0, 2**depth, (32, 32, 3))
    rgb = seen_picture(frame_of(codes, matrix, depth, 2 if full else 1)).rgb
    top = 255 if depth == 8 else 65535
    assert np.abs(rgb - reference(codes, matrix, depth, full) * top).max() <= 0.6


def test_untagged_pictures_say_what_was_assumed() -> None:
    frame = frame_of(np.full((4, 4, 3), 128), 2, 8, 0)
    assumed = seen_picture(frame).assumptions
    assert any("BT.601 was assumed" in sentence for sentence in assumed)
    assert any("narrow was assumed" in sentence for sentence in assumed)


@pytest.mark.parametrize(("transfer", "name"), [(16, "PQ"), (18, "HLG")])
def test_hdr_is_refused(transfer: int, name: str) -> None:
    frame = frame_of(np.full((4, 4, 3), 512), 9, 10)
    frame.color_trc = transfer
    with pytest.raises(InputError, match=f"SDR captures, got {name}"):
        seen_picture(frame)


def test_chroma_stays_where_it_is_sited() -> None:
    slope = np.arange(8, dtype=np.float32)
    plane = np.tile(slope, (4, 1))
    wide = spread_chroma(plane, (4, 16), 1, 2)
    np.testing.assert_allclose(wide[0, :15], np.arange(15) / 2)
    tall = spread_chroma(np.tile(slope[:, None], (1, 4)), (16, 4), 2, 1)
    np.testing.assert_allclose(tall[1:15, 0], (np.arange(1, 15) - 0.5) / 2)
