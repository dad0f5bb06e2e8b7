from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacerail.compose.burn import burn_in
from pacerail.compose.encode import EncoderChoice
from pacerail.compose.rectangle import square_canvas
from pacerail.compose.squeeze import shrunk, squeezed
from pacerail.patch import Image, Patch, whole
from tests.compose.clips import decoded, refresh_grid


@pytest.mark.parametrize(
    ("stored", "aspect", "seen"),
    [
        ((1440, 1080), Fraction(4, 3), (1920, 1080)),
        # ITU-R BT.601 pictures of 4:3 and 16:9 with the pixel aspects that H.264 counts
        # (ITU-T H.264 table E-1): 10:11 and 40:33.
        ((704, 480), Fraction(10, 11), (704, 528)),
        ((704, 480), Fraction(40, 33), (854, 480)),
        ((1920, 1080), None, (1920, 1080)),
        ((1920, 1080), Fraction(1), (1920, 1080)),
    ],
)
def test_the_canvas_of_square_pixels_has_the_shape_that_is_seen(
    stored: tuple[int, int], aspect: Fraction | None, seen: tuple[int, int]
) -> None:
    assert square_canvas(stored, aspect) == seen


@given(st.integers(0, 20), st.integers(1, 30), st.fractions(1, 3, max_denominator=12))
def test_shrinking_keeps_light_and_covers_each_sample_once(
    start: int, count: int, ratio: Fraction
) -> None:
    kept = range(start, start + count)
    origin = int(start * ratio)
    length = -int(-(kept.stop * ratio) // 1) - origin
    rgba = np.random.default_rng(count).integers(0, 256, (2, length, 4)).astype(np.uint8)
    small = shrunk(rgba, kept, ratio, 1)
    # Against many small parts of each sample, laid out one by one.
    parts = ratio.denominator * 4
    fine = np.repeat(rgba.astype(float), parts, axis=1)
    begin = int((start * ratio - origin) * parts)
    each = int(ratio * parts)
    exact = fine[:, begin : begin + count * each].reshape(2, count, each, 4).mean(2)
    np.testing.assert_allclose(small, exact, atol=0.51)


def test_square_pixels_need_no_squeezing() -> None:
    def patches_of(refresh: int) -> list[Patch]:
        return []

    assert squeezed(patches_of, (1920, 1080), (1920, 1080)) is patches_of


@pytest.mark.parametrize(
    ("size", "aspect", "drawn"),
    [((120, 90), Fraction(4, 3), (160, 90)), ((160, 90), Fraction(3, 4), (160, 120))],
)
def test_a_square_is_seen_as_a_square(
    size: tuple[int, int], aspect: Fraction, drawn: tuple[int, int], tmp_path: Path
) -> None:
    source, target = tmp_path / "in.mp4", tmp_path / "out.mkv"
    with av.open(str(source), "w") as output:
        video = output.add_stream("libx264", rate=60)
        video.width, video.height, video.pix_fmt = *size, "yuv420p"
        video.codec_context.sample_aspect_ratio = aspect
        for index in range(4):
            frame = av.VideoFrame.from_ndarray(np.full((*size[::-1], 3), 40, np.uint8), "rgb24")
            frame.pts = index
            output.mux(video.encode(frame))
        output.mux(video.encode(None))
    white = Image(np.full((48, 48, 4), 255, np.uint8))
    with av.open(str(source)) as container:
        burn_in(
            container,
            container.streams.video[0],
            target,
            lambda refresh: [whole(white, 60, 24)],
            refresh_grid(source, Fraction(60)),
            container_format="matroska",
            encoder=EncoderChoice("ffv1"),
        )
    luma = decoded(target)[2].to_ndarray(format="gray")
    rows, columns = np.nonzero(luma > 140)
    across = (np.ptp(columns) + 1) * drawn[0] / size[0]
    down = (np.ptp(rows) + 1) * drawn[1] / size[1]
    assert across == pytest.approx(48, abs=2)
    assert down == pytest.approx(48, abs=2)
    assert columns.min() * drawn[0] / size[0] == pytest.approx(60, abs=2)
    assert rows.min() * drawn[1] / size[1] == pytest.approx(24, abs=2)
