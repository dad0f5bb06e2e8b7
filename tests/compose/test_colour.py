from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from pacerail.compose.blend import Blender
from pacerail.compose.colour import (
    LUMA_WEIGHTS,
    Signal,
    Transfer,
    graphics_in_signal,
    linear_to_hlg,
    linear_to_pq,
    primaries_matrix,
    signal_from_tags,
    srgb_to_linear,
)
from pacerail.compose.layout import LAYOUTS, component_views
from pacerail.compose.planes import PlaneCache, convert
from pacerail.patch import Image, whole
from tests.compose.clips import blank_frame

BARS = {
    "white": (1, 1, 1),
    "yellow": (1, 1, 0),
    "cyan": (0, 1, 1),
    "green": (0, 1, 0),
    "magenta": (1, 0, 1),
    "red": (1, 0, 0),
    "blue": (0, 0, 1),
}
# (matrix code point, bit depth, percent): Y', Cb, Cr of each bar in the order above.
# FFmpeg's vsrc_testsrc.c tables rainbow, rainbow100, rainbowhd; AviSynth wiki, ColorBars
# theory, after BT.601, BT.709 and BT.801; the 10-bit row also in public code bases that
# carry SMPTE RP 219. 709 100 % white, green, magenta and all of 2020: the formula of
# ITU-T H.273 worked out with colour-science, no published table.
TABLES = {
    (1, 8, 75): [
        (180, 128, 128),
        (168, 44, 136),
        (145, 147, 44),
        (133, 63, 52),
        (63, 193, 204),
        (51, 109, 212),
        (28, 212, 120),
    ],
    (1, 10, 75): [
        (721, 512, 512),
        (674, 176, 543),
        (581, 589, 176),
        (534, 253, 207),
        (251, 771, 817),
        (204, 435, 848),
        (111, 848, 481),
    ],
    (1, 8, 100): [
        (235, 128, 128),
        (219, 16, 138),
        (188, 154, 16),
        (173, 42, 26),
        (78, 214, 230),
        (63, 102, 240),
        (32, 240, 118),
    ],
    (6, 8, 75): [
        (180, 128, 128),
        (162, 44, 142),
        (131, 156, 44),
        (112, 72, 58),
        (84, 184, 198),
        (65, 100, 212),
        (35, 212, 114),
    ],
    (6, 8, 100): [
        (235, 128, 128),
        (210, 16, 146),
        (170, 166, 16),
        (145, 54, 34),
        (106, 202, 222),
        (81, 90, 240),
        (41, 240, 110),
    ],
    (9, 10, 100): [
        (940, 512, 512),
        (888, 64, 548),
        (710, 637, 64),
        (658, 189, 100),
        (346, 835, 924),
        (294, 387, 960),
        (116, 960, 476),
    ],
}


def narrow(matrix: int, depth: int) -> Signal:
    return Signal(LUMA_WEIGHTS[matrix], False, depth, Transfer.SDR, 1)


def bar_image(colour: tuple[int, int, int], percent: int) -> Image:
    rgba = np.full((8, 8, 4), 255, np.uint8)
    rgba[..., :3] = np.round(np.array(colour) * 255 * percent / 100)
    return Image(rgba)


@pytest.mark.parametrize(("matrix", "depth", "percent"), TABLES)
def test_colour_bars_come_out_within_one_code(matrix: int, depth: int, percent: int) -> None:
    layout = LAYOUTS["yuv420p" if depth == 8 else "yuv420p10le"]
    signal = narrow(matrix, depth)
    for (name, colour), expected in zip(BARS.items(), TABLES[matrix, depth, percent], strict=True):
        frame = blank_frame(layout.name, 16, 16)
        Blender(PlaneCache(layout, signal)).blend(frame, [whole(bar_image(colour, percent), 4, 4)])
        for view, step, value in zip(
            component_views(frame, layout), (1, 2, 2), expected, strict=True
        ):
            area = view[4 // step : 12 // step, 4 // step : 12 // step].astype(int)
            # 75 % of 255 is 191.25, which an 8-bit drawing has as 191: 0.9 codes of 10 bits.
            assert np.abs(area - value).max() <= 1, f"{name}: {area[0, 0]} for {value}"


@pytest.mark.parametrize(("matrix", "depth", "percent"), TABLES)
def test_colour_bars_pass_beneath_a_transparent_overlay(
    matrix: int, depth: int, percent: int
) -> None:
    layout = LAYOUTS["yuv444p" if depth == 8 else "yuv444p10le"]
    table = TABLES[matrix, depth, percent]
    frame = blank_frame(layout.name, 16 * len(table), 16)
    for component, view in enumerate(component_views(frame, layout)):
        view[...] = np.repeat([bar[component] for bar in table], 16)
    clear = Image(np.zeros((16, 16 * len(table), 4), np.uint8))
    Blender(PlaneCache(layout, narrow(matrix, depth))).blend(frame, [whole(clear, 0, 0)])
    for component, view in enumerate(component_views(frame, layout)):
        assert (view[7] == np.repeat([bar[component] for bar in table], 16)).all()


def luma_of_white(transfer: int, *, full_range: bool = False) -> int:
    signal = signal_from_tags(
        matrix=9,
        colour_range=2 if full_range else 1,
        transfer=transfer,
        primaries=9,
        is_rgb=False,
        bit_depth=10,
        height=2160,
    )
    planes = convert(np.full((2, 2, 4), 255, np.uint8), LAYOUTS["yuv420p10le"], signal)
    chroma = [int(planes[index].term[0, 0]) for index in (1, 2)]
    assert chroma == [512, 512]
    return int(planes[0].term[0, 0])


def test_graphics_white_on_hdr_footage() -> None:
    # ITU-R BT.2408, HDR reference white 203 cd/m2: 58 % PQ, 75 % HLG. 10-bit codes by the
    # narrow and full range formulas of BT.2100 (573, 594; 0.75 * 876 + 64 = 721).
    assert abs(luma_of_white(16) - 573) <= 1
    assert abs(luma_of_white(16, full_range=True) - 594) <= 1
    assert abs(luma_of_white(18) - 721) <= 1


def plane(*values: float) -> NDArray[np.float32]:
    return np.array(values, np.float32)


def test_pq_of_known_luminances() -> None:
    # colour-science eotf_inverse_ST2084; 203 and 100 cd/m2 also quoted from BT.2408, table 1.
    known = {
        26.0: 0.380032,
        100.0: 0.508078,
        203.0: 0.580689,
        1000.0: 0.751827,
        4000.0: 0.902572,
        10000.0: 1.0,
    }
    assert linear_to_pq(plane(*known)) == pytest.approx(list(known.values()), abs=2e-6)


def test_hlg_reference_white_and_peak() -> None:
    # ITU-R BT.2100: 1000 cd/m2 on the nominal display is signal 1; BT.2408: 203 is 75 %.
    white = np.tile(plane(203.0, 1000.0, 0.0), (3, 1))
    assert linear_to_hlg(white)[0] == pytest.approx([0.75, 1.0, 0.0], abs=1e-3)


def test_srgb_to_linear_known_codes() -> None:
    # IEC 61966-2-1, worked out by hand from its formula for codes 0, 10, 11, 55, 128, 188, 255.
    codes = plane(0, 10, 11, 55, 128, 188, 255) / np.float32(255)
    expected = [0, 0.00303527, 0.00334654, 0.03820437, 0.2158605, 0.50288646, 1]
    assert srgb_to_linear(codes) == pytest.approx(expected, abs=1e-6)


def test_primaries_keep_white_and_match_the_published_matrix() -> None:
    # ITU-R BT.2087-0, linear BT.709 to BT.2020.
    published = [[0.6274, 0.3293, 0.0433], [0.0691, 0.9195, 0.0114], [0.0164, 0.0880, 0.8956]]
    assert primaries_matrix(9) == pytest.approx(np.array(published), abs=1e-4)
    for primaries in (1, 9, 12):
        assert primaries_matrix(primaries).sum(1) == pytest.approx([1, 1, 1])


def test_graphics_stay_premultiplied_in_every_signal() -> None:
    rgba = np.zeros((2, 2, 4), np.uint8)
    rgba[0, 0] = (100, 50, 0, 128)
    rgba[0, 1] = (255, 255, 255, 255)
    for transfer in Transfer:
        for primaries in (1, 9):
            planes = graphics_in_signal(
                rgba, Signal(LUMA_WEIGHTS[9], False, 10, transfer, primaries)
            )
            assert (planes[:3] <= planes[3] + 1e-6).all()
            assert (planes[:, 1, 1] == 0).all()
            assert planes[3, 0, 0] == pytest.approx(128 / 255)


def assumptions(**tags: int) -> tuple[str, ...]:
    given = {"matrix": 1, "colour_range": 1, "transfer": 1, "primaries": 1, "height": 1080} | tags
    return signal_from_tags(is_rgb=False, bit_depth=8, **given).assumptions


def test_what_is_not_tagged_is_assumed_and_said() -> None:
    assert assumptions() == ()
    assert "BT.709 was assumed" in assumptions(matrix=2)[0]
    assert "BT.601 was assumed" in assumptions(matrix=2, height=576)[0]
    assert "narrow was assumed" in assumptions(colour_range=0)[0]
    untagged = signal_from_tags(
        matrix=2, colour_range=0, transfer=2, primaries=2, is_rgb=False, bit_depth=8, height=480
    )
    assert untagged.luma_weights == LUMA_WEIGHTS[6]
    assert not untagged.full_range
