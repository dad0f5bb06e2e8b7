from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

from pacerail.compose.arrangement import Arrangement, Divider, Placement
from pacerail.compose.encode import EncoderChoice
from pacerail.compose.footage import Footage, footage_of, opening_footage
from pacerail.compose.joint import Clip, Moment, Painter, canvas_of, shape_of, write_joint
from pacerail.compose.layout import component_views, layout_of
from pacerail.compose.placing import arrange, cells
from pacerail.compose.rate import RateChange
from pacerail.compose.rectangle import PictureShape, Rectangle
from pacerail.compose.side import Side
from pacerail.compose.sound import SideSound
from pacerail.errors import InputError, UsageError
from pacerail.patch import Image, Patch, whole
from tests.compose.clips import decoded, frame_time_s, refresh_grid, write_clip
from tests.compose.numbered import MOST, number_of, write_numbered

SIXTY = Fraction(60)
LAYOUT = layout_of("yuv420p")
LOSSLESS = EncoderChoice("ffv1")


def side_of(
    container: av.container.InputContainer,
    path: Path,
    rate: Fraction,
    *,
    refresh_hz: Fraction = SIXTY,
    first: int = 0,
    end: int = MOST,
) -> Side:
    video = container.streams.video[0]
    return Side(
        container,
        video,
        opening_footage(container, video),
        refresh_grid(path, refresh_hz),
        first,
        end,
        RateChange(refresh_hz, rate),
    )


def arranged(
    layout: str, canvas: tuple[int, int], shapes: Sequence[PictureShape], **options: object
) -> Arrangement:
    """An arrangement with thin rails at the foot of the canvas."""
    rails = [
        Rectangle(cell.room.x, canvas[1] // 10 * 9 // 2 * 2, cell.room.width, 2)
        for cell in cells(layout, canvas, shapes)
    ]
    return arrange(layout, canvas, shapes, rails, **options)  # type: ignore[arg-type]


def canvas_footage(source: Footage, size: tuple[int, int]) -> Footage:
    """A canvas of that size for pictures of that footage."""
    return replace(source, width=size[0], height=size[1], matrix=1, colour_range=1)


def write(
    paths: Sequence[Path],
    output: Path,
    *,
    layout: str = "abreast",
    canvas: tuple[int, int] = (128, 72),
    clip: Clip,
    rates: tuple[Fraction, Fraction] = (SIXTY, SIXTY),
    starts: tuple[int, int] = (0, 0),
    ends: tuple[int, int] = (MOST, MOST),
    encoder: EncoderChoice = LOSSLESS,
    container_format: str = "matroska",
    heard: Sequence[int] = (),
    moments: list[Moment] | None = None,
) -> None:
    def patches_of(moment: Moment) -> list[Patch]:
        if moments is not None:
            moments.append(moment)
        return []

    with av.open(str(paths[0])) as one, av.open(str(paths[1])) as other:
        sides = [
            side_of(container, path, clip.rate, refresh_hz=rate, first=start, end=end)
            for container, path, rate, start, end in zip(
                (one, other), paths, rates, starts, ends, strict=True
            )
        ]
        shapes = [shape_of(side.footage, None) for side in sides]
        opened = [av.open(str(paths[number])) for number in heard]
        sounds = [SideSound(each, each.streams.audio[0], Fraction(0)) for each in opened]
        write_joint(
            sides,
            sounds,
            arranged(layout, canvas, shapes),
            patches_of,
            clip,
            output,
            container_format=container_format,
            encoder=encoder,
        )
        for each in opened:
            each.close()


@pytest.mark.parametrize(
    ("hz", "rate"),
    [
        ((60, 60), Fraction(60)),
        ((60, 120), Fraction(120)),
        ((60, 120), Fraction(60)),
        ((Fraction(60000, 1001), 60), Fraction(60)),
        ((60, Fraction(60000, 1001)), Fraction(60000, 1001)),
    ],
)
def test_every_picture_of_a_clip_shows_what_both_displays_showed_then(
    tmp_path: Path, hz: tuple[Fraction, Fraction], rate: Fraction
) -> None:
    rates = Fraction(hz[0]), Fraction(hz[1])
    starts = 0, 7
    paths = [
        write_numbered(tmp_path / f"{number}.mkv", range(MOST), rate=refresh_hz)
        for number, refresh_hz in enumerate(rates)
    ]
    clip = Clip(24, rate)
    output = tmp_path / "out.mkv"
    write(paths, output, clip=clip, rates=rates, starts=starts)
    frames = decoded(output)
    assert len(frames) == clip.pictures
    middle = frames[0].height // 2 - 4
    for number, frame in enumerate(frames):
        luma = component_views(frame, LAYOUT)[0]
        shown = [number_of(float(luma[middle, column])) for column in (32, 96)]
        expected = [
            start + int(Fraction(number) / rate * refresh_hz // 1)
            for start, refresh_hz in zip(starts, rates, strict=True)
        ]
        assert shown == expected
        # Matroska counts in milliseconds.
        assert abs(frame_time_s(frame) - number / rate) <= Fraction(1, 2000)


def test_a_side_that_ends_is_told_and_the_clip_keeps_its_length(tmp_path: Path) -> None:
    paths = [write_numbered(tmp_path / f"{count}.mkv", range(count)) for count in (20, 12)]
    moments: list[Moment] = []
    output = tmp_path / "out.mkv"
    write(paths, output, clip=Clip(20, SIXTY), ends=(20, 12), moments=moments)
    assert [moment.picture for moment in moments] == list(range(20))
    assert [moment.has_ended for moment in moments] == [
        (False, number >= 12) for number in range(20)
    ]
    lumas = [component_views(frame, LAYOUT)[0][32] for frame in decoded(output)]
    assert [number_of(float(luma[32])) for luma in lumas] == list(range(20))
    held = {float(luma[96]) for luma in lumas[12:]}
    assert len(held) == 1
    assert held.pop() < float(lumas[11][96]) / 1.5


def test_time_stamps_of_mp4_are_exact_and_sound_is_as_long(tmp_path: Path) -> None:
    rate = Fraction(60000, 1001)
    paths = [write_clip(tmp_path / f"{n}.mp4", rate=rate, pictures=45) for n in range(2)]
    output = tmp_path / "out.mp4"
    write(
        paths,
        output,
        canvas=(640, 180),
        clip=Clip(45, rate),
        rates=(rate, rate),
        ends=(45, 45),
        encoder=EncoderChoice("h264", "draft"),
        container_format="mp4",
        heard=(0, 1),
    )
    with av.open(str(output)) as container:
        video, sound = container.streams.video[0], container.streams.audio[0]
        assert video.average_rate == rate
        assert sound.layout.name == "stereo"
        assert sound.duration is not None
        assert sound.time_base is not None
        assert abs(sound.duration * sound.time_base - 45 / rate) < Fraction(1, 1000)
        times = [frame_time_s(frame) for frame in container.decode(video)]
    assert times == [number / rate for number in range(45)]


@pytest.mark.parametrize("pixel_format", ["yuv420p", "yuv422p", "yuv444p", "yuv420p10le", "nv12"])
def test_pictures_at_their_own_pixels_keep_every_sample(pixel_format: str) -> None:
    layout = layout_of(pixel_format)
    random = np.random.default_rng(3)
    frames = [av.VideoFrame(64, 48, pixel_format) for _ in range(2)]
    for frame in frames:
        for view in component_views(frame, layout):
            view[...] = random.integers(20, 200, view.shape)
    sources = [footage_of(frame) for frame in frames]
    shapes = [shape_of(source, None) for source in sources]
    arrangement = arranged("abreast", (160, 90), shapes, scales=False)
    canvas = canvas_footage(sources[0], (160, 90))
    painted = Painter(arrangement, canvas, [0, 0]).paint(dict(enumerate(frames)), Fraction(0))
    left_over = [np.ones(view.shape, bool) for view in component_views(painted, layout)]
    for frame, place in zip(frames, arrangement.placed, strict=True):
        for component, view in enumerate(component_views(painted, layout)):
            rows, columns = layout.steps(component)
            window = (
                slice(place.target.y // rows, place.target.bottom // rows),
                slice(place.target.x // columns, place.target.right // columns),
            )
            kept = component_views(frame, layout)[component][
                place.source_y // rows :, place.source_x // columns :
            ]
            wanted = kept[: place.target.height // rows, : place.target.width // columns]
            np.testing.assert_array_equal(view[window], wanted)
            left_over[component][window] = False
    # Everything else is black.
    scale = 1 << (layout.bit_depth - 8)
    blacks = (16 * scale, 128 * scale, 128 * scale)
    for view, rest, black in zip(component_views(painted, layout), left_over, blacks, strict=True):
        assert set(np.unique(view[rest])) == {black}


def test_a_split_picture_is_made_of_both_and_nothing_else() -> None:
    random = np.random.default_rng(5)
    frames = [av.VideoFrame(64, 36, "yuv420p") for _ in range(2)]
    for frame in frames:
        for view in component_views(frame, LAYOUT):
            view[...] = random.integers(20, 200, view.shape)
    source = footage_of(frames[0])
    whole_canvas = Placement((64, 36), 0, 0, Rectangle(0, 0, 64, 36))
    arrangement = Arrangement(
        (64, 36), (whole_canvas, whole_canvas), ((0, 0), (0, 0)), Divider(Fraction(1, 4))
    )
    painter = Painter(arrangement, canvas_footage(source, (64, 36)), [0, 0])
    painted = painter.paint(dict(enumerate(frames)), Fraction(0))
    for component, view in enumerate(component_views(painted, LAYOUT)):
        column = 16 // LAYOUT.steps(component)[1]
        one, other = (component_views(frame, LAYOUT)[component] for frame in frames)
        np.testing.assert_array_equal(view[:, :column], one[:, :column])
        np.testing.assert_array_equal(view[:, column:], other[:, column:])


@pytest.mark.parametrize("turns", [1, 2, 3])
def test_a_turned_capture_is_painted_as_players_show_it(turns: int) -> None:
    frame = av.VideoFrame(64, 32, "yuv420p")
    for view in component_views(frame, LAYOUT):
        view[...] = 128
    luma = component_views(frame, LAYOUT)[0]
    luma[:8, :8] = 235  # the upper left corner of the stored picture
    source = replace(footage_of(frame), quarter_turns=turns)
    shape = shape_of(source, None)
    size = shape.width, shape.height
    arrangement = Arrangement(
        size, (Placement(size, 0, 0, Rectangle(0, 0, *size)), None), ((0, 0),)
    )
    canvas = canvas_footage(replace(source, quarter_turns=0), size)
    painted = Painter(arrangement, canvas, [turns, 0]).paint({0: frame}, Fraction(0))
    rows, columns = np.nonzero(component_views(painted, LAYOUT)[0] == 235)
    # Clockwise, that corner goes to the upper right, lower right, lower left.
    assert (columns.min() > 0) == (turns in (1, 2))
    assert (rows.min() > 0) == (turns in (2, 3))


def test_graphics_are_painted_over_the_pictures(tmp_path: Path) -> None:
    path = write_numbered(tmp_path / "in.mkv", range(4))
    white = Image(np.full((8, 8, 4), 255, np.uint8))
    with av.open(str(path)) as one, av.open(str(path)) as other:
        sides = [side_of(container, path, SIXTY, end=4) for container in (one, other)]
        shapes = [shape_of(side.footage, None) for side in sides]
        output = tmp_path / "out.mkv"
        write_joint(
            sides,
            [],
            arranged("abreast", (128, 72), shapes),
            lambda moment: [whole(white, 2 * moment.picture, 20)],
            Clip(4, SIXTY),
            output,
            container_format="matroska",
            encoder=EncoderChoice("ffv1"),
        )
    for number, frame in enumerate(decoded(output)):
        columns = np.nonzero(component_views(frame, LAYOUT)[0][24] == 235)[0]
        assert (columns.min(), columns.max()) == (2 * number, 2 * number + 7)


def test_captures_of_different_dynamic_range_are_refused(tmp_path: Path) -> None:
    plain = write_clip(tmp_path / "sdr.mp4", pictures=2, audio=None)
    bright = write_clip(tmp_path / "pq.mp4", pictures=2, audio=None, tags=(9, 1, 9, 16))
    with pytest.raises(InputError, match=r"must have the same dynamic range, got SDR and PQ;"):
        write([plain, bright], tmp_path / "out.mkv", clip=Clip(2, SIXTY), canvas=(640, 180))


def test_a_container_that_does_not_take_the_codec_is_refused(tmp_path: Path) -> None:
    path = write_numbered(tmp_path / "in.mkv", range(2))
    with pytest.raises(UsageError, match="container must be one that takes ffv1"):
        write([path, path], tmp_path / "out", clip=Clip(2, SIXTY), container_format="mp4")


def test_the_canvas_tells_its_matrix_and_range(tmp_path: Path) -> None:
    path = write_clip(
        tmp_path / "in.mp4", pictures=2, audio=None, width=320, height=180, tags=(2, 0, 2, 2)
    )
    with av.open(str(path)) as one, av.open(str(path)) as other:
        sides = [side_of(container, path, SIXTY, end=2) for container in (one, other)]
        shapes = [shape_of(side.footage, None) for side in sides]
        _, canvas = canvas_of(sides, arranged("abreast", (1280, 720), shapes), EncoderChoice())
    # Footage of so few rows is BT.601; on 720 rows players would guess otherwise.
    assert (canvas.matrix, canvas.colour_range) == (6, 1)
