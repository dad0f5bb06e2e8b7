from __future__ import annotations

import errno
import os
import re
import threading
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

from pacerail.compose.burn import burn_in
from pacerail.compose.encode import EncoderChoice
from pacerail.errors import InputError, UsageError
from pacerail.patch import Patch
from tests.compose.clips import frame_time_s, overlay, refresh_grid, write_clip

SIXTY = Fraction(60)


def burn(source: Path, target: Path, container_format: str = "mp4", **options: object) -> int:
    with av.open(str(source)) as container:
        return burn_in(
            container,
            container.streams.video[0],
            target,
            overlay,
            refresh_grid(source, SIXTY),
            container_format=container_format,
            **options,  # type: ignore[arg-type]
        )


def picture_times(path: Path) -> list[Fraction]:
    with av.open(str(path)) as container:
        return [frame_time_s(frame) for frame in container.decode(video=0)]


def audio_packets(path: Path) -> list[tuple[Fraction, bytes]]:
    with av.open(str(path)) as container:
        return [
            (packet.pts * Fraction(packet.time_base), bytes(packet))
            for packet in container.demux(audio=0)
            if packet.pts is not None
        ]


@pytest.mark.parametrize(
    ("suffix", "container_format", "audio"),
    [("mp4", "mp4", "aac"), ("mov", "mov", "pcm_s16le"), ("mkv", "matroska", "flac")],
)
def test_whole_capture_keeps_times_and_audio(
    tmp_path: Path, suffix: str, container_format: str, audio: str
) -> None:
    source = write_clip(tmp_path / f"in.{suffix}", container_format=container_format, audio=audio)
    target = tmp_path / "out.part"
    assert burn(source, target, container_format) == 40
    assert picture_times(target) == picture_times(source)
    assert audio_packets(target) == audio_packets(source)


@pytest.mark.parametrize("audio", ["pcm_s16le", "libmp3lame", "libopus"])
def test_matroska_sound_goes_into_mp4(tmp_path: Path, audio: str) -> None:
    source = write_clip(tmp_path / "in.mkv", container_format="matroska", audio=audio)
    target = tmp_path / "out.part"
    burn(source, target)
    found, expected = audio_packets(target), audio_packets(source)
    if audio == "pcm_s16le":  # MP4 cuts PCM into packets of its own
        assert b"".join(data for _, data in found) == b"".join(data for _, data in expected)
    else:
        assert [data for _, data in found] == [data for _, data in expected]
    assert float(found[0][0] - expected[0][0]) == pytest.approx(0, abs=0.001)


def test_variable_rate_keeps_every_time_stamp(tmp_path: Path) -> None:
    steps = np.random.default_rng(3).integers(150, 700, 40)
    pts = [int(tick) for tick in np.cumsum(steps) - steps[0]]
    source = write_clip(tmp_path / "in.mp4", pts=pts, time_base=Fraction(1, 15360))
    target = tmp_path / "out.part"
    burn(source, target)
    assert picture_times(target) == [Fraction(tick, 15360) for tick in pts]


def test_a_start_other_than_zero_is_kept(tmp_path: Path) -> None:
    late = range(85, 125)
    source = write_clip(tmp_path / "in.ts", container_format="mpegts", pts=late)
    target = tmp_path / "out.part"
    burn(source, target)
    times = picture_times(source)
    assert times[0] > 1
    assert picture_times(target) == times


def test_a_doubled_time_stamp_is_written_once(tmp_path: Path) -> None:
    source = write_clip(
        tmp_path / "in.mkv",
        container_format="matroska",
        codec="ffv1",
        options={"level": "3"},
        audio=None,
        pictures=6,
        pts=[0, 10, 20, 20, 30, 40],
        time_base=Fraction(1, 1000),
    )
    assert len(picture_times(source)) == 6
    target = tmp_path / "out.part"
    assert burn(source, target) == 5
    assert picture_times(target) == [Fraction(index, 100) for index in range(5)]


def test_the_end_of_a_segment_that_starts_with_the_capture(tmp_path: Path) -> None:
    source = write_clip(tmp_path / "in.mp4", pictures=60)
    target = tmp_path / "out.part"
    done: list[int] = []
    assert burn(source, target, end_refresh=25, progress=done.append) == 25
    assert done == list(range(1, 26))
    assert picture_times(target) == [Fraction(index, 60) for index in range(25)]
    kept = audio_packets(target)
    assert kept == audio_packets(source)[: len(kept)]
    assert float(kept[-1][0]) == pytest.approx(25 / 60, abs=1024 / 48000 + 1 / 60)


def test_tags_and_rate_are_the_source_s(tmp_path: Path) -> None:
    source = write_clip(tmp_path / "in.mp4", tags=(6, 2, 6, 6))
    target = tmp_path / "out.part"
    burn(source, target)
    with av.open(str(target)) as container:
        context = container.streams.video[0].codec_context
        found = (context.colorspace, context.color_range)
        assert found == (6, 2)
        assert (context.color_primaries, context.color_trc) == (6, 6)
        assert container.streams.video[0].average_rate == 60
        assert container.streams.video[0].frames == 40


def test_lossless_burn_changes_only_what_lies_beneath_the_patches(tmp_path: Path) -> None:
    source = write_clip(tmp_path / "in.mp4")
    target = tmp_path / "out.part"
    burn(source, target, encoder=EncoderChoice(quality="lossless"))
    with av.open(str(source)) as before, av.open(str(target)) as after:
        for plain, burned in zip(before.decode(video=0), after.decode(video=0), strict=True):
            was, now = plain.to_ndarray(), burned.to_ndarray()
            differs = np.argwhere(was[:180] != now[:180])
            assert len(differs)
            assert differs.min(0)[0] >= 116
            assert differs.max(0)[0] < 166
            # Chroma planes lie beneath luma in one array, two rows of chroma per array row.
            assert (was[180:208] == now[180:208]).all()


def test_audio_that_the_container_does_not_take_is_refused_first(tmp_path: Path) -> None:
    source = write_clip(tmp_path / "in.mkv", container_format="matroska", audio="flac")
    target = tmp_path / "out.part"
    with pytest.raises(UsageError, match="audio must be in a codec that mov takes, got flac; "):
        burn(source, target, "mov")
    assert not target.exists()


def test_an_error_while_drawing_travels(tmp_path: Path) -> None:
    source = write_clip(tmp_path / "in.mp4")

    def broken(refresh: int) -> list[Patch]:
        if refresh == 7:
            raise ZeroDivisionError("drawing broke")
        return overlay(refresh)

    threads = threading.active_count()
    with av.open(str(source)) as container, pytest.raises(ZeroDivisionError, match="drawing broke"):
        burn_in(
            container,
            container.streams.video[0],
            tmp_path / "out.part",
            broken,
            refresh_grid(source, SIXTY),
            container_format="mp4",
        )
    assert threading.active_count() == threads


def test_a_disk_that_fills_up_is_an_os_error(tmp_path: Path) -> None:
    source = write_clip(tmp_path / "in.mp4")
    with pytest.raises(OSError, match=re.escape(os.strerror(errno.ENOSPC))):
        burn(source, Path("/dev/full"), "matroska", encoder=EncoderChoice(quality="lossless"))


def test_a_damaged_capture_is_written_as_far_as_it_decodes(tmp_path: Path) -> None:
    source = write_clip(tmp_path / "in.mp4", pictures=60, audio=None)
    data = bytearray(source.read_bytes())
    middle = len(data) // 2
    data[middle : middle + 3000] = bytes(3000)
    source.write_bytes(data)
    target = tmp_path / "out.part"
    written = burn(source, target)
    assert 20 < written <= 60
    assert len(picture_times(target)) == written


def test_a_segment_without_pictures_says_so(tmp_path: Path) -> None:
    source = write_clip(tmp_path / "in.mp4")
    with pytest.raises(InputError, match="segment must hold at least one picture"):
        burn(source, tmp_path / "out.part", first_refresh=100, end_refresh=120)
