from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from pacerail.capture.open import open_capture
from pacerail.errors import InputError
from tests.capture.recordings import COLUMNS, ROWS, record, record_sound

INTERLACED = {"preset": "ultrafast", "flags": "+ildct+ilme", "x264-params": "interlaced=1:tff=1"}


def refusal(path: Path) -> str:
    with pytest.raises(InputError) as caught:
        open_capture(path)
    return str(caught.value)


def test_facts_of_a_recording(tmp_path: Path) -> None:
    path = record(tmp_path / "glider.mp4", range(60), timecode="01:00:00:00")
    with open_capture(path) as capture:
        info = capture.info
    assert (info.width, info.height) == (COLUMNS, ROWS)
    assert (info.codec, info.pixel_format, info.container_format) == ("h264", "yuv420p", "mov")
    assert info.refresh_hz == 60
    assert info.stated_duration_s == 1
    assert info.stated_pictures == 60
    assert info.start_timecode == "01:00:00:00"
    assert info.has_time_stamps
    assert not info.has_audio
    assert info.size_bytes == path.stat().st_size


@pytest.mark.parametrize("suffix", [".mp4", ".mkv", ".mov", ".ts", ".avi", ".nut", ".webm"])
@pytest.mark.parametrize("rate", [Fraction(60), Fraction(60_000, 1001)])
def test_every_container_tells_its_rate(tmp_path: Path, suffix: str, rate: Fraction) -> None:
    encoder = "libvpx-vp9" if suffix == ".webm" else "libx264"
    options = {"deadline": "realtime", "cpu-used": "8"} if suffix == ".webm" else None
    path = record(tmp_path / f"a{suffix}", range(60), rate=rate, encoder=encoder, options=options)
    with open_capture(path) as capture:
        assert capture.info.refresh_hz == rate


def test_the_user_overrides_the_rate(tmp_path: Path) -> None:
    path = record(tmp_path / "a.mp4", range(10))
    with open_capture(path, refresh_hz=Fraction(120)) as capture:
        assert capture.info.refresh_hz == 120
        assert capture.info.refresh_hz_reason == "given by the user"


def test_a_raw_stream_is_counted_at_the_rate_it_states(tmp_path: Path) -> None:
    path = record(tmp_path / "a.h264", range(30), rate=Fraction(50))
    with open_capture(path) as capture:
        assert capture.info.refresh_hz == 50
        assert not capture.info.has_time_stamps
        assert "no usable time stamps" in capture.notes[0]


def test_avi_with_b_pictures_is_counted(tmp_path: Path) -> None:
    path = record(tmp_path / "a.avi", range(30), options={"preset": "veryfast"})
    with open_capture(path) as capture:
        assert not capture.info.has_time_stamps


def test_names_are_never_read_as_protocols(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    record(tmp_path / "a.mp4", range(10)).rename(tmp_path / "take:1.mp4")
    monkeypatch.chdir(tmp_path)
    with open_capture(Path("take:1.mp4")) as capture:
        assert capture.info.refresh_hz == 60


def test_what_is_no_capture_is_refused_in_one_line(tmp_path: Path) -> None:
    text = tmp_path / "text.mp4"
    text.write_text("a letter\n" * 500)
    playlist = tmp_path / "list.m3u8"
    playlist.write_text("#EXTM3U\n#EXTINF:1,\na.mp4\n")
    empty = tmp_path / "empty.mp4"
    empty.touch()
    sound = record_sound(tmp_path / "sound.m4a")
    whole = record(tmp_path / "whole.mp4", range(30)).read_bytes()
    headless = tmp_path / "headless.mp4"
    headless.write_bytes(whole[: len(whole) // 2])
    expected = {
        tmp_path / "none.mp4": "capture must exist",
        tmp_path: "capture must be a file, got the folder",
        empty: "got the empty file",
        text: "capture must be a whole video file",
        playlist: "capture must be a whole video file",
        sound: "capture must hold video, got none",
        headless: "capture must be a whole video file",
        text / "inside.mp4": "capture must exist",
    }
    for path, words in expected.items():
        message = refusal(path)
        assert words in message
        assert str(path) in message
        assert "\n" not in message


def test_a_file_without_pictures_in_its_video_is_refused(tmp_path: Path) -> None:
    path = record(tmp_path / "a.mkv", range(30))
    path.write_bytes(path.read_bytes()[:700])
    assert "capture must hold pictures, got none" in refusal(path)


def test_interlaced_material_is_refused_unless_asked_for(tmp_path: Path) -> None:
    path = record(tmp_path / "a.mp4", range(10), options=INTERLACED)
    assert "pass --interlaced" in refusal(path)
    with open_capture(path, allow_interlaced=True) as capture:
        assert capture.info.refresh_hz == 60


def test_an_unusable_hardware_decoder_is_noted(tmp_path: Path) -> None:
    path = record(tmp_path / "a.mp4", range(10))
    with open_capture(path, hwaccel="abacus") as capture:
        assert "hardware decoder abacus cannot be used" in capture.notes[0]
