"""Pictures reached by searching are those of decoding all, in files with and without an index."""

from __future__ import annotations

from itertools import islice
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from pacerail.capture.excerpt import glances
from pacerail.capture.glimpses import glimpses
from pacerail.capture.stills import rgb_stills
from pacerail.errors import InputError
from tests.capture.recordings import COLUMNS, ROWS, record

PICTURES = 270
HZ = 60
# Two groups of pictures: what lies before the second can only be reached from the start.
KINDS: dict[str, dict[str, Any]] = {
    "mp4": {"options": {"preset": "veryfast", "g": "250"}},
    "matroska": {"options": {"preset": "veryfast", "g": "250"}},
    "mpegts": {"options": {"preset": "veryfast", "g": "250"}},
    "mpeg": {"encoder": "mpeg2video", "options": {"g": "250"}},
    "avi": {"options": {"preset": "ultrafast", "g": "250"}},
}


@pytest.fixture(params=KINDS)
def capture(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    kind = request.param
    return record(tmp_path / f"a.{kind}", range(PICTURES), container_format=kind, **KINDS[kind])


def plainly_decoded(path: Path) -> list[av.VideoFrame]:
    with av.open(str(path)) as container:
        return list(container.decode(video=0))


def luma_of(frame: av.VideoFrame) -> NDArray[Any]:
    return frame.to_ndarray(format="yuv420p")[:ROWS]


def test_an_excerpt_begins_with_what_is_on_screen(capture: Path) -> None:
    wanted = plainly_decoded(capture)
    for number in (0, 1, 130, 246, 249, 250, 251, PICTURES - 1):
        seen = list(islice(glances(capture, number / HZ), 2))
        assert len(seen) == min(2, PICTURES - number)
        for later, glance in enumerate(seen):
            assert glance.start_s == pytest.approx((number + later) / HZ, abs=1e-3)
            np.testing.assert_array_equal(glance.luma, luma_of(wanted[number + later]))


def test_an_excerpt_ends_where_it_is_told(capture: Path) -> None:
    assert len(list(glances(capture, 100 / HZ, 140 / HZ))) == 40


def test_stills_are_found_in_any_order(capture: Path) -> None:
    wanted = plainly_decoded(capture)
    numbers = (260, 3, 240, 249, 250, 0, 120)
    stills = rgb_stills(capture, [(number + 0.25) / HZ for number in numbers], COLUMNS)
    for number, still in zip(numbers, stills, strict=True):
        (again,) = rgb_stills(capture, [number / HZ], COLUMNS)
        np.testing.assert_array_equal(still, again)
        rgb = wanted[number].reformat(format="rgb24", interpolation="BICUBIC").to_ndarray()
        np.testing.assert_array_equal(still, rgb)


def test_glimpses_reach_every_part(capture: Path) -> None:
    assert len(list(glimpses(capture, 9))) == 9


def test_a_stream_that_cannot_be_searched_is_refused_in_one_line(tmp_path: Path) -> None:
    raw = record(tmp_path / "a.h264", range(20), container_format="h264")
    with pytest.raises(InputError, match=r"can be searched, got .*; put the stream into an MP4"):
        list(glances(raw, 0.1))
    with pytest.raises(InputError, match="can be searched"):
        list(rgb_stills(raw, [0.1], COLUMNS))
