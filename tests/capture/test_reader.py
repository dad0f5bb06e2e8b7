from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import av
import numpy as np
import pytest

from pacerail.capture.open import open_capture
from pacerail.capture.reader import pictures
from pacerail.capture.report import ReadingReport
from pacerail.errors import InputError
from pacerail.picture import Picture
from tests.capture.recordings import COLUMNS, ROWS, record
from tests.capture.test_open import INTERLACED


def read(path: Path, **options: bool) -> tuple[list[Picture], ReadingReport]:
    with open_capture(path, **options) as capture:  # type: ignore[arg-type]
        reader = pictures(capture)
        return list(reader), reader.report


def decoded_luma(path: Path) -> list[np.ndarray]:
    """Luma by the library's own conversion."""
    with av.open(str(path)) as container:
        return [frame.to_ndarray()[:ROWS] for frame in container.decode(video=0)]


@pytest.mark.parametrize("suffix", [".mp4", ".mkv", ".ts", ".nut", ".h264", ".avi"])
def test_every_refresh_once_and_in_order(tmp_path: Path, suffix: str) -> None:
    path = record(tmp_path / f"a{suffix}", range(40), options={"preset": "veryfast", "bf": "2"})
    read_pictures, report = read(path)
    assert [picture.refresh for picture in read_pictures] == list(range(40))
    assert report.sentences() == ()
    assert {picture.picture_type for picture in read_pictures} == {"I", "P", "B"}
    for picture, luma in zip(read_pictures, decoded_luma(path), strict=True):
        np.testing.assert_array_equal(picture.luma, luma)


def test_mp4_and_matroska_agree_on_the_grid(tmp_path: Path) -> None:
    ticks = [*range(20), *range(23, 40)]
    grids = [
        [picture.refresh for picture in read(record(tmp_path / name, ticks))[0]]
        for name in ("a.mp4", "a.mkv")
    ]
    assert grids[0] == grids[1] == ticks


def test_time_stamps_are_those_of_the_file(tmp_path: Path) -> None:
    path = record(tmp_path / "a.mp4", [3, 4, 5, 8], time_base=Fraction(1, 60))
    read_pictures, _ = read(path)
    with av.open(str(path)) as container:
        assert [picture.pts for picture in read_pictures] == [
            frame.pts for frame in container.decode(video=0)
        ]
    assert [picture.refresh for picture in read_pictures] == [0, 1, 2, 5]


def test_a_gap_is_counted_and_told(tmp_path: Path) -> None:
    read_pictures, report = read(record(tmp_path / "a.mkv", [0, 1, 2, 6, 7, 8, 9]))
    assert [picture.refresh for picture in read_pictures] == [0, 1, 2, 6, 7, 8, 9]
    assert report.lost == 3
    assert report.sentences()[0].startswith(
        "refreshes that the recording lost, counted as capture faults: 3; if the recorder"
    )


def test_a_few_lost_refreshes_raise_no_question(tmp_path: Path) -> None:
    _, report = read(record(tmp_path / "a.mkv", [*range(50), *range(51, 100)]))
    assert report.sentences() == (
        "refreshes that the recording lost, counted as capture faults: 1",
    )


def test_gaps_can_repeat_the_picture_before(tmp_path: Path) -> None:
    path = record(tmp_path / "a.mp4", [0, 1, 2, 6, 7, 8])
    with open_capture(path) as capture:
        reader = pictures(capture, gaps_are_held=True)
        read_pictures = list(reader)
    assert [picture.refresh for picture in read_pictures] == list(range(9))
    assert len({after.pts - before.pts for before, after in pairwise(read_pictures)}) == 1
    for picture in read_pictures[3:6]:
        np.testing.assert_array_equal(picture.luma, read_pictures[2].luma)
    assert (reader.report.filled, reader.report.lost) == (3, 0)


def test_a_doubled_picture_is_dropped_and_told(tmp_path: Path) -> None:
    ticks = [i * 1500 for i in range(30)]
    ticks.insert(10, ticks[9] + 100)
    path = record(tmp_path / "a.mp4", ticks, time_base=Fraction(1, 90_000))
    read_pictures, report = read(path)
    assert [picture.refresh for picture in read_pictures] == list(range(30))
    assert report.doubled == 1
    assert "came twice or out of order: 1" in report.sentences()[0]


def test_a_variable_rate_recording_falls_on_the_grid(tmp_path: Path) -> None:
    random = np.random.default_rng(8)
    refreshes = np.flatnonzero(random.random(200) < 0.7)
    stamps = np.round(refreshes * 1500 + random.uniform(-300, 300, len(refreshes))).astype(int)
    path = record(tmp_path / "a.mp4", (stamps - stamps[0]).tolist(), time_base=Fraction(1, 90_000))
    read_pictures, _ = read(path)
    assert [picture.refresh for picture in read_pictures] == (refreshes - refreshes[0]).tolist()


@pytest.mark.parametrize("suffix", [".mp4", ".mkv"])
def test_a_cut_file_gives_what_it_has(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"a{suffix}"
    record(path, range(240))
    if suffix == ".mp4":
        # Index first, as recorders that survive a crash write it.
        whole = tmp_path / "front.mp4"
        with (
            av.open(str(path)) as source,
            av.open(str(whole), "w", options={"movflags": "+faststart"}) as target,
        ):
            video = target.add_stream_from_template(source.streams.video[0])
            for packet in source.demux(source.streams.video[0]):
                if packet.dts is not None:
                    packet.stream = video
                    target.mux(packet)
        path = whole
    content = path.read_bytes()
    path.write_bytes(content[: len(content) // 2])
    read_pictures, report = read(path)
    assert 60 < len(read_pictures) < 180
    missing = 4 - len(read_pictures) / 60
    assert f"the file ends {missing:.3f} s before" in report.sentences()[-1]


def test_damage_inside_is_passed_over_and_told(tmp_path: Path) -> None:
    path = record(tmp_path / "a.ts", range(120), options={"preset": "ultrafast", "g": "30"})
    content = bytearray(path.read_bytes())
    middle = len(content) // 2
    content[middle : middle + 4000] = bytes(4000)
    path.write_bytes(content)
    read_pictures, report = read(path)
    refreshes = [picture.refresh for picture in read_pictures]
    assert refreshes == sorted(set(refreshes))
    assert refreshes[-1] == 119
    assert report.damaged + report.undecodable + report.lost > 0
    assert report.damaged == sum(picture.is_corrupt for picture in read_pictures)


def test_a_change_of_size_is_handed_on_and_told(tmp_path: Path) -> None:
    parts = [
        record(tmp_path / f"{width}.h264", range(20), size=(width, ROWS)).read_bytes()
        for width in (COLUMNS, COLUMNS // 2)
    ]
    path = tmp_path / "joined.h264"
    path.write_bytes(b"".join(parts))
    read_pictures, report = read(path)
    assert [picture.luma.shape for picture in read_pictures] == [(ROWS, COLUMNS)] * 20 + [
        (ROWS, COLUMNS // 2)
    ] * 20
    assert report.shape_changes == 1


def test_interlaced_pictures_that_the_header_hides_are_met(tmp_path: Path) -> None:
    path = record(tmp_path / "a.mp4", range(10), options=INTERLACED)
    with open_capture(path, allow_interlaced=True) as capture:
        capture.allow_interlaced = False
        with pytest.raises(InputError, match="progressive"):
            list(pictures(capture))
    read_pictures, report = read(path, allow_interlaced=True)
    assert len(read_pictures) == report.interlaced == 10


def test_ten_bits_come_as_ten_bits(tmp_path: Path) -> None:
    path = record(
        tmp_path / "a.mkv", range(5), encoder="ffv1", pixel_format="yuv420p10le", options={}
    )
    read_pictures, _ = read(path)
    assert read_pictures[0].bit_depth == 10
    assert read_pictures[0].luma.dtype == np.uint16
    assert 255 < read_pictures[0].luma.max() < 1024


def test_pictures_stay_valid_after_the_capture_is_closed(tmp_path: Path) -> None:
    path = record(tmp_path / "a.mp4", range(20))
    read_pictures, _ = read(path)
    for picture, luma in zip(read_pictures, decoded_luma(path), strict=True):
        np.testing.assert_array_equal(picture.luma, luma)
