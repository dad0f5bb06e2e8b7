"""Tags, turns and metadata through a whole burn, read back from the written file."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest

from pacerail.compose.burn import burn_in
from pacerail.compose.conform import Conformer
from pacerail.compose.encode import EncoderChoice, encoder_setup, losses
from pacerail.compose.footage import Footage, HdrMetadata, footage_of, opening_footage
from pacerail.compose.layout import component_views, layout_of, nearest_format
from pacerail.compose.still import write_still
from pacerail.compose.turn import turn_back
from pacerail.errors import InputError
from pacerail.patch import Image, Patch, whole
from tests.compose.clips import blank_frame, decoded, refresh_grid, write_clip

MASTERING = "G(13250,34500)B(7500,3000)R(34000,16000)WP(15635,16450)L(10000000,50)"
LOSSLESS = EncoderChoice(quality="lossless")


def write_flat(
    path: Path,
    *,
    codec: str = "libx264",
    pixel_format: str = "yuv420p",
    options: dict[str, str] | None = None,
    tags: tuple[int, int, int, int] = (1, 1, 1, 1),
    size: tuple[int, int] = (160, 90),
    rotation: int = 0,
    pixel_aspect: Fraction | None = None,
    chapters: bool = False,
) -> Path:
    with av.open(str(path), "w") as output:
        video = output.add_stream(codec, rate=60, options=options or {})
        assert isinstance(video, av.VideoStream)
        video.width, video.height = size
        video.pix_fmt = pixel_format
        context = video.codec_context
        context.colorspace, context.color_range = tags[:2]
        context.color_primaries, context.color_trc = tags[2:]
        if pixel_aspect:
            context.sample_aspect_ratio = pixel_aspect
        if rotation:
            video.set_display_rotation(rotation)
        if chapters:
            output.set_chapters([chapter(1, 0, 150, "A"), chapter(2, 150, 500, "B")])
        output.metadata["title"] = "Harbour at dusk"
        for index in range(30):
            frame = blank_frame(pixel_format, *size)
            frame.pts = index
            output.mux(video.encode(frame))
        output.mux(video.encode(None))
    return path


def chapter(number: int, start_ms: int, end_ms: int, title: str) -> Any:
    return {
        "id": number,
        "start": start_ms,
        "end": end_ms,
        "time_base": Fraction(1, 1000),
        "metadata": {"title": title},
    }


def chapters_of(path: Path) -> list[tuple[Fraction, Fraction, str]]:
    with av.open(str(path)) as container:
        return [
            (
                found["start"] * Fraction(found["time_base"] or 1),
                found["end"] * Fraction(found["time_base"] or 1),
                found["metadata"]["title"],
            )
            for found in container.chapters()
        ]


def burn(source: Path, target: Path, patches: list[Patch], **options: object) -> Path:
    with av.open(str(source)) as container:
        burn_in(
            container,
            container.streams.video[0],
            target,
            lambda refresh: patches,
            refresh_grid(source, Fraction(60)),
            **{"container_format": "mp4", "encoder": LOSSLESS, **options},  # type: ignore[arg-type]
        )
    return target


def footage(path: Path) -> Footage:
    with av.open(str(path)) as container:
        return footage_of(next(container.decode(video=0)))


@pytest.mark.parametrize("codec", ["h264", "hevc"])
def test_hdr_tags_and_metadata_come_through(tmp_path: Path, codec: str) -> None:
    source = write_flat(
        tmp_path / "in.mp4",
        codec="libx265",
        pixel_format="yuv420p10le",
        options={
            "preset": "ultrafast",
            "x265-params": f"log-level=none:master-display={MASTERING}:max-cll=1000,400",
        },
        tags=(9, 1, 9, 16),
    )
    before = footage(source)
    assert before.hdr.mastering is not None
    assert before.hdr.light_level == (1000, 400)
    target = burn(source, tmp_path / "out", [], encoder=EncoderChoice(codec, "draft"))
    assert footage(target) == before


@pytest.mark.parametrize("codec", ["prores", "ffv1"])
def test_hdr_metadata_that_a_clip_cannot_carry_is_told_of(codec: str) -> None:
    both = HdrMetadata((1,) * 10, (1000, 400))
    (sentence,) = losses(EncoderChoice(codec, "draft"), both, Fraction(1))
    assert sentence.startswith(
        "The clip does not carry the footage's mastering display and content light level; "
    )
    assert losses(EncoderChoice(codec, "draft"), HdrMetadata(None, None), None) == []
    assert losses(EncoderChoice("hevc", "draft"), both, Fraction(4, 3)) == []


def test_pixel_aspect_that_a_clip_cannot_carry_is_told_of() -> None:
    none = HdrMetadata(None, None)
    (sentence,) = losses(EncoderChoice("ffv1"), none, Fraction(4, 3))
    assert sentence.startswith("The clip does not carry the footage's pixel aspect; ")
    assert losses(EncoderChoice("prores"), none, Fraction(4, 3)) == []


@pytest.mark.parametrize("codec", ["h264", "hevc", "prores", "ffv1"])
def test_colour_tags_come_through_every_codec(tmp_path: Path, codec: str) -> None:
    # BT.709 matrix and primaries, narrow, transfer of BT.709 (ITU-T H.273 code points).
    source = write_flat(tmp_path / "in.mp4", tags=(1, 1, 1, 1))
    container = "matroska" if codec == "ffv1" else "mov"
    encoder = EncoderChoice(codec, "draft")
    target = burn(source, tmp_path / "out", [], encoder=encoder, container_format=container)
    told = footage(target)
    assert (told.matrix, told.colour_range, told.primaries, told.transfer) == (1, 1, 1, 1)


@pytest.mark.parametrize("rotation", [90, -90, 180])
@pytest.mark.parametrize("size", [(160, 90), (161, 91)])
def test_turned_footage_is_drawn_on_as_it_is_seen(
    tmp_path: Path, rotation: int, size: tuple[int, int]
) -> None:
    pixel_format = "yuv420p" if size[0] % 2 == 0 else "yuv444p"
    source = write_flat(
        tmp_path / "in.mp4", rotation=rotation, size=size, pixel_format=pixel_format
    )
    with av.open(str(source)) as container:
        width, height = opening_footage(container, container.streams.video[0]).canvas
    assert (width, height) == ((90, 160) if abs(rotation) == 90 else (160, 90))
    rgba = np.full((12, 20, 4), 255, np.uint8)
    rgba[:6, :10, :3] = 128
    mark = Image(rgba)
    target = burn(source, tmp_path / "out", [whole(mark, 6, 10)])
    assert footage(target).display_matrix == footage(source).display_matrix
    stored = decoded(target)[0].to_ndarray(format="gray").astype(int)
    stored = stored[: size[1] // 2 * 2, : size[0] // 2 * 2]
    seen = np.rot90(stored, rotation // 90)  # both count counterclockwise
    assert seen.shape == (height, width)
    drawn = seen > 60
    assert np.argwhere(drawn).min(0).tolist() == [10, 6]
    assert np.argwhere(drawn).max(0).tolist() == [21, 25]
    assert seen[10:16, 6:16].max() < seen[10:16, 16:26].min()
    assert seen[10:16, 6:16].max() < seen[16:22, 6:16].min()


def test_four_turns_back_are_none() -> None:
    image = Image(np.zeros((20, 40, 4), np.uint8))
    patch = Patch(image, x=10, y=4, source_x=6, source_y=2, width=30, height=16)
    assert turn_back(patch, 0, 100, 60) == patch
    assert turn_back(patch, 4, 100, 60) == patch


def test_pixel_aspect_title_chapters_and_timecode(tmp_path: Path) -> None:
    source = write_flat(tmp_path / "in.mp4", pixel_aspect=Fraction(4, 3), chapters=True)
    whole_copy = burn(source, tmp_path / "whole", [], start_timecode="01:02:03:04")
    with av.open(str(whole_copy)) as container:
        assert container.streams.video[0].sample_aspect_ratio == Fraction(4, 3)
        assert container.metadata["title"] == "Harbour at dusk"
        assert container.streams.video[0].metadata["timecode"] == "01:02:03:04"
    assert chapters_of(whole_copy) == chapters_of(source)
    part = burn(source, tmp_path / "part", [], first_refresh=6, end_refresh=24)
    first, second = chapters_of(part)
    assert first == (Fraction(0), Fraction(1, 20), "A")
    assert second[::2] == (Fraction(1, 20), "B")
    assert second[1] == pytest.approx(0.3, abs=1 / 60)


@pytest.mark.parametrize(
    ("codec", "container_format", "pixel_format", "expected"),
    [
        ("h264", "mp4", "yuv444p", "yuv444p"),
        ("h264", "mp4", "yuv420p10le", "yuv420p10le"),
        ("hevc", "mp4", "yuv422p10le", "yuv422p10le"),
        ("prores", "mov", "yuv420p", "yuv422p10le"),
        ("ffv1", "matroska", "yuv420p", "yuv420p"),
        ("ffv1", "matroska", "gbrp", "bgr0"),
        ("h264", "matroska", "gbrp", "gbrp"),
        ("prores", "mov", "gbrp", "yuv422p10le"),
    ],
)
def test_every_codec_keeps_the_nearest_format_and_the_picture(
    tmp_path: Path, codec: str, container_format: str, pixel_format: str, expected: str
) -> None:
    source_codec = "libx265" if pixel_format == "gbrp" else "libx264"
    options = {"x265-params": "log-level=none"} if pixel_format == "gbrp" else {}
    source = write_flat(
        tmp_path / "in.mp4",
        codec=source_codec,
        pixel_format=pixel_format,
        options=options,
        tags=(0 if pixel_format == "gbrp" else 1, 1, 1, 1),
    )
    orange = Image(np.full((40, 60, 4), (230, 150, 0, 255), np.uint8))
    target = burn(
        source,
        tmp_path / "out",
        [whole(orange, 40, 20)],
        container_format=container_format,
        encoder=EncoderChoice(codec, "high"),
    )
    frame = decoded(target)[10]
    assert frame.format.name == expected
    assert (frame.width, frame.height) == (160, 90)
    is_rgb = expected in ("gbrp", "bgr0")
    rgb = frame.to_ndarray(
        format="rgb24", src_colorspace=None if is_rgb else "ITU709", dst_color_range="JPEG"
    )
    assert np.abs(rgb[30:50, 50:90].astype(int) - (230, 150, 0)).max() <= 4


@pytest.mark.parametrize(
    ("source_format", "expected"),
    [
        ("yuv420p", "yuv420p"),
        ("nv12", "nv12"),
        ("p010le", "yuv420p10le"),
        ("yuv411p", "yuv422p"),
        ("uyvy422", "yuv422p"),
        ("yuva444p12le", "yuv444p10le"),
        ("gray", "yuv444p"),
        ("yuv422p12le", "yuv422p10le"),
    ],
)
def test_formats_that_x264_lacks_go_to_the_nearest(source_format: str, expected: str) -> None:
    source = replace(footage_of(blank_frame("yuv420p", 16, 16)), pixel_format=source_format)
    assert encoder_setup(EncoderChoice(), source).pixel_format == expected


def test_a_format_that_nothing_is_near_to_is_refused() -> None:
    message = "footage must have a pixel format that can be drawn on, got yuv420p; "
    with pytest.raises(InputError, match=message):
        nearest_format("yuv420p", {"gray"})


@pytest.mark.parametrize("pixel_format", ["yuv411p", "yuv444p12le", "gray"])
def test_unusual_footage_is_converted_and_drawn_on(tmp_path: Path, pixel_format: str) -> None:
    source = write_clip(
        tmp_path / "in.mkv",
        container_format="matroska",
        codec="ffv1",
        options={"level": "3"},
        pixel_format=pixel_format,
        pictures=6,
        audio=None,
    )
    blue = Image(np.full((40, 60, 4), (0, 114, 178, 255), np.uint8))
    target = burn(source, tmp_path / "out", [whole(blue, 40, 20)])
    with av.open(str(source)) as container:
        video = container.streams.video[0]
        shown = list(container.decode(video))[3]
        write_still(shown, video, tmp_path / "still.png", [whole(blue, 40, 20)])
    burned = decoded(target)[3].to_ndarray(
        format="rgb24", src_colorspace="ITU709", dst_color_range="JPEG"
    )
    (still,) = (frame.to_ndarray(format="rgb24") for frame in decoded(tmp_path / "still.png"))
    for rgb in (burned, still):
        assert np.abs(rgb[30:50, 50:90].astype(int) - (0, 114, 178)).max() <= 3
        assert rgb[100:].std() > 30


@pytest.mark.parametrize("codec", ["h264", "ffv1"])
def test_odd_sizes_lose_a_row_only_where_the_encoder_must(tmp_path: Path, codec: str) -> None:
    source = write_clip(
        tmp_path / "in.mkv",
        container_format="matroska",
        codec="ffv1",
        options={"level": "3"},
        pictures=6,
        width=161,
        height=91,
        audio=None,
    )
    target = burn(
        source,
        tmp_path / "out",
        [],
        container_format="matroska",
        encoder=EncoderChoice(codec, "lossless"),
    )
    frame, original = decoded(target)[3], decoded(source)[3]
    assert (frame.width, frame.height) == ((161, 91) if codec == "ffv1" else (160, 90))
    for kept, whole_plane in zip(
        component_views(frame, layout_of("yuv420p")),
        component_views(original, layout_of("yuv420p")),
        strict=True,
    ):
        assert (kept == whole_plane[: kept.shape[0], : kept.shape[1]]).all()


def test_pictures_that_change_size_are_scaled_to_the_first(tmp_path: Path) -> None:
    first = footage_of(blank_frame("yuv420p", 160, 90))
    conformer = Conformer(first, first)
    frame = conformer.conform(blank_frame("yuv420p", 320, 180))
    assert (frame.width, frame.height) == (160, 90)
