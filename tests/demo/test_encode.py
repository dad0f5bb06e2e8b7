"""Captures come out of the file as they went in."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from av.video.frame import PictureType
from numpy.typing import NDArray

from demo import pacing
from demo.encode import LOSSLESS, Encoding, write_capture
from demo.simulator import Display, Rgb, Simulation
from demo.sound import SAMPLE_RATE_HZ, harbour_sound
from pacerail.errors import UsageError

ROWS, COLUMNS = 96, 160
NTSC = Fraction(60000, 1001)
FFV1 = Encoding("ffv1", options=LOSSLESS["ffv1"])


def moving_grain(program_s: Fraction) -> Rgb:
    grain = np.random.default_rng(1).integers(0, 256, (ROWS, 2 * COLUMNS, 3), np.uint8)
    shift = int(program_s * 60) % COLUMNS
    return np.ascontiguousarray(grain[:, shift : shift + COLUMNS])


def simulation(
    refresh_hz: Fraction = Fraction(60), refreshes: int = 24, **more: object
) -> Simulation:
    flips = pacing.steady(Fraction(37), 1)
    return Simulation(moving_grain, flips, Display(refresh_hz, False), refreshes, **more)  # type: ignore[arg-type]


def decoded(path: Path) -> list[av.VideoFrame]:
    with av.open(str(path)) as container:
        return list(container.decode(video=0))


def luma(frame: av.VideoFrame) -> NDArray[np.uint8]:
    plane = frame.planes[0]
    strides = plane.line_size, 1
    return np.ndarray((plane.height, plane.width), np.uint8, memoryview(plane), 0, strides).copy()


def moments(path: Path) -> list[Fraction]:
    return [frame.pts * Fraction(frame.time_base) for frame in decoded(path)]  # type: ignore[operator, arg-type]


@pytest.mark.parametrize("refresh_hz", [Fraction(60), NTSC, Fraction(50), Fraction(120)])
def test_time_stamps_are_exact_in_mp4(tmp_path: Path, refresh_hz: Fraction) -> None:
    path = tmp_path / "capture.mp4"
    write_capture(path, simulation(refresh_hz), Encoding())
    assert moments(path) == [k / refresh_hz for k in range(24)]


def test_a_dropped_refresh_leaves_a_gap_in_time(tmp_path: Path) -> None:
    path = tmp_path / "capture.mp4"
    write_capture(path, simulation(dropped={7, 8}), Encoding())
    assert moments(path) == [Fraction(k, 60) for k in range(24) if k not in (7, 8)]


@pytest.mark.parametrize("container", ["mp4", "mkv", "ts"])
def test_every_container_carries_all_pictures_and_the_sound(tmp_path: Path, container: str) -> None:
    path = tmp_path / f"capture.{container}"
    write_capture(path, simulation(), Encoding())
    assert len(decoded(path)) == 24
    with av.open(str(path)) as opened:
        samples = sum(frame.samples for frame in opened.decode(audio=0))
    # AAC works in blocks of 1024 samples, with priming before and padding behind.
    assert 0 <= samples - 0.4 * SAMPLE_RATE_HZ <= 3 * 1024


def test_lossless_encoders_agree_with_each_other_and_with_the_simulation(tmp_path: Path) -> None:
    first, second = tmp_path / "a.mkv", tmp_path / "b.mp4"
    write_capture(first, simulation(), FFV1)
    write_capture(second, simulation(), Encoding("libx264", options=LOSSLESS["libx264"]))
    for a, b in zip(decoded(first), decoded(second), strict=True):
        assert (a.to_ndarray() == b.to_ndarray()).all()
    # BT.709 luma in narrow range of what was drawn; the converter works in 8-bit steps.
    drawn = [picture.rgb for picture in simulation().pictures()]
    for frame, rgb in zip(decoded(first), drawn, strict=True):
        expected = 16 + 219 / 255 * (rgb @ np.array([0.2126, 0.7152, 0.0722]))
        assert np.abs(luma(frame) - expected).max() < 1.6


# 75 % bars in 8-bit narrow BT.709, as in FFmpeg's vsrc_testsrc.c (table rainbowhd).
BARS = [
    ((191, 191, 0), (168, 44, 136)),
    ((0, 191, 191), (145, 147, 44)),
    ((0, 191, 0), (133, 63, 52)),
    ((191, 0, 191), (63, 193, 204)),
    ((191, 0, 0), (51, 109, 212)),
    ((0, 0, 191), (28, 212, 120)),
]


@pytest.mark.parametrize("pix_fmt", ["yuv420p", "yuv444p"])
def test_colours_are_bt709_and_say_so(tmp_path: Path, pix_fmt: str) -> None:
    picture = np.repeat(np.array([rgb for rgb, _ in BARS], np.uint8), 32, axis=0)
    picture = np.repeat(picture[None], 64, axis=0)
    path = tmp_path / "bars.mkv"
    bars = Simulation(lambda _: picture.copy(), [Fraction(0)], Display(Fraction(60), True), 2)
    write_capture(path, bars, Encoding("ffv1", pix_fmt, LOSSLESS["ffv1"], audio=False))
    frame = decoded(path)[0]
    assert (frame.colorspace, frame.color_range) == (1, 1)
    with av.open(str(path)) as opened:
        context = opened.streams.video[0].codec_context
        assert (context.color_primaries, context.color_trc) == (1, 1)
    planes = frame.to_ndarray(format="yuv444p")
    for k, (_, expected) in enumerate(BARS):
        # Rounding of the converter: one code value either way.
        assert np.abs(planes[:, 32, 32 * k + 16].astype(int) - expected).max() <= 1


@pytest.mark.parametrize(
    ("encoder", "pix_fmt", "options", "codec"),
    [
        ("libx265", "yuv420p10le", {"crf": "20", "preset": "ultrafast"}, "hevc"),
        ("libsvtav1", "yuv420p", {"crf": "30", "preset": "12"}, "av1"),
        ("libx264", "yuv420p10le", {"crf": "18", "preset": "ultrafast"}, "h264"),
        ("libx264", "yuv444p", {"crf": "18", "preset": "ultrafast"}, "h264"),
    ],
)
def test_other_codecs_and_formats(
    tmp_path: Path, encoder: str, pix_fmt: str, options: dict[str, str], codec: str
) -> None:
    path = tmp_path / "capture.mp4"
    write_capture(path, simulation(), Encoding(encoder, pix_fmt, options))
    with av.open(str(path)) as opened:
        video = opened.streams.video[0]
        assert (video.codec_context.name, video.codec_context.pix_fmt) == (
            {"av1": "libdav1d"}.get(codec, codec),
            pix_fmt,
        )
    assert moments(path) == [Fraction(k, 60) for k in range(24)]


def test_a_constant_bit_rate_is_met_without_b_pictures(tmp_path: Path) -> None:
    path = tmp_path / "capture.ts"
    options = {"preset": "ultrafast"}
    encoding = Encoding(options=options, bit_rate=2_000_000, audio=False)
    write_capture(path, simulation(refreshes=60), encoding)
    frames = decoded(path)
    assert PictureType.B not in {PictureType(frame.pict_type) for frame in frames}
    # Filler keeps the rate up; transport stream packets add some percent.
    assert path.stat().st_size * 8 == pytest.approx(2_000_000, rel=0.3)


def test_noise_has_the_deviation_asked_for_and_is_fresh_in_every_picture(tmp_path: Path) -> None:
    grey = np.full((120, 200, 3), 128, np.uint8)
    path = tmp_path / "noise.mkv"
    still = Simulation(lambda _: grey.copy(), [Fraction(0)], Display(Fraction(60), True), 8)
    write_capture(path, still, Encoding("ffv1", options={}, noise_sigma=1.5, audio=False))
    pictures = np.stack([luma(frame).astype(float) for frame in decoded(path)])
    # Rounding to whole code values adds a variance of 1/12.
    assert pictures.std() == pytest.approx(np.sqrt(1.5**2 + 1 / 12), rel=0.03)
    difference = pictures[1:] - pictures[:-1]
    assert difference.std() == pytest.approx(np.sqrt(2) * pictures.std(), rel=0.03)


def test_a_recorder_that_resizes_scales_the_truth(tmp_path: Path) -> None:
    path = tmp_path / "capture.mp4"
    plain, resized = simulation(), simulation()
    truth = write_capture(path, resized, Encoding(size=(2 * COLUMNS, 2 * ROWS)))
    assert sum(1 for _ in plain.pictures()) == 24
    frame = decoded(path)[0]
    assert (frame.width, frame.height) == (2 * COLUMNS, 2 * ROWS)
    assert truth == plain.truth.resized(2 * ROWS)


def test_a_start_timecode_is_written(tmp_path: Path) -> None:
    path = tmp_path / "capture.mov"
    write_capture(path, simulation(), Encoding(timecode="01:02:03:04"))
    with av.open(str(path)) as opened:
        assert opened.streams.video[0].metadata["timecode"] == "01:02:03:04"


def test_nothing_is_left_behind_when_drawing_fails(tmp_path: Path) -> None:
    def fails_at_half_a_second(program_s: Fraction) -> Rgb:
        if program_s > Fraction(1, 5):
            raise ArithmeticError("out of paper")
        return moving_grain(program_s)

    broken = Simulation(
        fails_at_half_a_second, pacing.steady(60, 1), Display(Fraction(60), True), 60
    )
    with pytest.raises(ArithmeticError, match="out of paper"):
        write_capture(tmp_path / "capture.mp4", broken, Encoding())
    assert list(tmp_path.iterdir()) == []


def test_an_existing_file_is_kept_unless_told(tmp_path: Path) -> None:
    path = tmp_path / "capture.mp4"
    path.write_bytes(b"precious")
    with pytest.raises(UsageError, match="must not exist yet"):
        write_capture(path, simulation(), Encoding())
    assert path.read_bytes() == b"precious"
    write_capture(path, simulation(), Encoding(), overwrite=True)
    assert len(decoded(path)) == 24


def test_the_sound_is_soft_and_of_the_asked_length() -> None:
    sound = harbour_sound(2.5)
    assert sound.shape == (2, 120_000)
    assert sound.dtype == np.float32
    assert 0.005 < np.sqrt((sound**2).mean()) < 0.2
    assert np.abs(sound).max() < 0.5
