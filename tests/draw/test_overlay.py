import gc
import re
import weakref
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from pacerail.draw.arrange import safe_area
from pacerail.draw.overlay import Overlay
from pacerail.draw.scale import design_unit, scale_for
from pacerail.draw.style import Place, Style, Type, load_style, style_names
from pacerail.errors import UsageError
from pacerail.patch import Image
from tests.draw.made_tracks import Span, eventful_spans, flat, frames, make_track, paint

CANVASES = [
    (640, 360),
    (1280, 720),
    (1920, 1080),
    (3840, 2160),
    (720, 1280),
    (1080, 1080),
    (853, 481),
]


def make_overlay(
    style: str = "quay",
    width: int = 1280,
    height: int = 720,
    tracks: int = 1,
    spans: Sequence[Span] = eventful_spans(),
    refresh_hz: Fraction = Fraction(60),
) -> Overlay:
    made = [
        make_track(spans, "Merle", refresh_hz),
        make_track(spans[::-1], "Wren", refresh_hz),
    ]
    refreshes = made[0].series.refreshes
    return Overlay(
        made[:tracks], load_style(style), width, height, first_refresh=0, end_refresh=refreshes
    )


def lane_of(overlay: Overlay, picture: NDArray[np.uint8]) -> NDArray[np.uint8]:
    x, y, width, height = overlay.layout.lane
    return picture[y : y + height, x : x + width]


def check_patches(overlay: Overlay, canvas: tuple[int, int]) -> None:
    x, y, width, height = overlay.rectangle
    safe = safe_area(*canvas)
    assert x >= safe.x
    assert y >= safe.y
    assert x + width <= safe.right
    assert y + height <= safe.bottom
    for patch in overlay.patches(150):
        numbers = (patch.x, patch.y, patch.source_x, patch.source_y, patch.width, patch.height)
        assert all(number % 2 == 0 for number in numbers)
        assert min(patch.width, patch.height) > 0
        assert x <= patch.x <= patch.x + patch.width <= x + width
        assert y <= patch.y <= patch.y + patch.height <= y + height


@pytest.mark.parametrize("tracks", [1, 2])
@pytest.mark.parametrize("canvas", CANVASES, ids=str)
@pytest.mark.parametrize("style", style_names())
def test_everything_is_even_inside_the_rectangle_and_graphics_safe(
    style: str, canvas: tuple[int, int], tracks: int
) -> None:
    overlay = make_overlay(style, *canvas, tracks)
    check_patches(overlay, canvas)


# EBU R 95: 5 % of the picture at each edge; SMPTE ST 2046-1 gives the same box at 1080.
@pytest.mark.parametrize(
    ("canvas", "box"),
    [
        ((1920, 1080), (96, 54, 1824, 1026)),
        ((1280, 720), (64, 36, 1216, 684)),
        ((3840, 2160), (192, 108, 3648, 2052)),
    ],
)
def test_graphics_safe_boxes_of_the_standards(
    canvas: tuple[int, int], box: tuple[int, int, int, int]
) -> None:
    safe = safe_area(*canvas)
    assert (safe.x, safe.y, safe.right, safe.bottom) == box


@pytest.mark.parametrize("tracks", [1, 2])
@pytest.mark.parametrize("style", style_names())
def test_the_plate_has_one_thickness_everywhere(style: str, tracks: int) -> None:
    """Every pixel of the rectangle is covered once, but for needle and map mark above it."""
    overlay = make_overlay(style, tracks=tracks)
    x, y, width, height = overlay.rectangle
    covered = np.zeros((height, width), int)
    plate = load_style(style).plate.opacity * 255
    for patch in overlay.patches(150):
        rows = slice(patch.source_y, patch.source_y + patch.height)
        columns = slice(patch.source_x, patch.source_x + patch.width)
        source = patch.image.rgba[rows, columns, 3]
        target = covered[patch.y - y : patch.y - y + patch.height]
        target = target[:, patch.x - x : patch.x - x + patch.width]
        if abs(source.min() - plate) <= 1:
            target += 1
    assert (covered == 1).all()


@pytest.mark.parametrize(
    "refresh_hz", [Fraction(60), Fraction(120), Fraction(60000, 1001)], ids=str
)
@pytest.mark.parametrize(("style", "tracks"), [("quay", 1), ("chart", 2), ("mast", 2)])
def test_one_refresh_later_the_strip_is_the_same_picture_shifted(
    style: str, tracks: int, refresh_hz: Fraction
) -> None:
    overlay = make_overlay(style, tracks=tracks, refresh_hz=refresh_hz)
    unit = design_unit(1280, 720)
    step = scale_for(refresh_hz, load_style(style).lane.pixels_per_ms, unit).pixels_per_refresh
    ground = flat(1280, 720)
    before, after = (lane_of(overlay, paint(ground, overlay.patches(r))) for r in (140, 141))
    if overlay.layout.flow == "up":
        before, after = (np.rot90(lane, -1) for lane in (before, after))
    past = overlay.layout.needle - 40
    np.testing.assert_array_equal(after[:, :past], before[:, step : past + step])
    ahead = overlay.layout.needle + 40
    np.testing.assert_array_equal(after[:, ahead:-step], before[:, ahead + step :])
    assert not np.array_equal(after, before)


def test_what_is_to_come_is_fainter_than_what_has_been() -> None:
    overlay = make_overlay(spans=frames(*[1] * 400))
    lane = lane_of(overlay, paint(flat(1280, 720, 0), overlay.patches(200)))
    needle = overlay.layout.needle
    assert lane[:, : needle - 40].max() > 1.5 * lane[:, needle + 40 :].max()


def test_two_overlays_of_the_same_tracks_draw_the_same_pixels() -> None:
    ground = flat(1280, 720)
    first = paint(ground, make_overlay("chart", tracks=2).patches(333))
    second = paint(ground, make_overlay("chart", tracks=2).patches(333))
    np.testing.assert_array_equal(first, second)


def test_reaching_a_moment_by_playing_or_by_jumping_draws_the_same_pixels() -> None:
    played, jumped = make_overlay(), make_overlay()
    for refresh in range(200):
        played.patches(refresh)
    ground = flat(1280, 720)
    np.testing.assert_array_equal(
        paint(ground, played.patches(200)), paint(ground, jumped.patches(200))
    )


def test_the_same_images_return_from_picture_to_picture() -> None:
    overlay = make_overlay(spans=frames(*[1] * 3000))
    seen = {id(patch.image): patch.image for r in range(60, 120) for patch in overlay.patches(r)}
    # Six readouts, needle, gutter, and the stretches of a window that moves by one of them.
    assert len(seen) < 6 + 2 + 8


def test_images_kept_do_not_grow_with_the_length_of_a_run() -> None:
    overlay = make_overlay(spans=frames(*[1, 1, 2] * 2000))
    drawn: weakref.WeakSet[Image] = weakref.WeakSet()
    kept = []
    for refresh in range(0, 4000, 7):
        drawn.update(patch.image for patch in overlay.patches(refresh))
        gc.collect(0)
        kept.append(len(drawn))
    assert max(kept[-100:]) <= max(kept[100:200])


def test_the_second_platform_hangs_where_the_first_one_stands() -> None:
    spans = frames(*[1] * 60, 4, *[1] * 60)
    track = make_track(spans, "Merle")
    overlay = Overlay(
        [track, track], load_style("quay"), 1920, 1080, first_refresh=0, end_refresh=120
    )
    lane = lane_of(overlay, paint(flat(1920, 1080, 0), overlay.patches(70)))
    axis = overlay.layout.axis
    np.testing.assert_array_equal(lane[:axis][::-1], lane[axis + 2 :][:axis])


def test_three_platforms_are_refused() -> None:
    track = make_track(frames(1, 1, 1))
    with pytest.raises(UsageError) as caught:
        Overlay([track] * 3, load_style("quay"), 640, 360, first_refresh=0, end_refresh=3)
    assert str(caught.value) == "overlay must show one or two platforms, got 3; leave some out"


@pytest.mark.parametrize("style", ["quay", "buoy", "wake", "chart"])
def test_twice_the_canvas_is_the_same_picture_twice_as_large(style: str) -> None:
    def tiles(width: int, height: int, scale: int) -> NDArray[np.uint8]:
        overlay = make_overlay(style, width, height)
        lane = lane_of(overlay, paint(flat(width, height), overlay.patches(150)))
        axis, needle = overlay.layout.axis, overlay.layout.needle
        return lane[axis - 30 * scale : axis, needle - 260 * scale : needle - 20 * scale]

    small, large = tiles(1920, 1080, 1), tiles(3840, 2160, 2)
    rows, columns, _ = small.shape
    halved = large.reshape(rows, 2, columns, 2, 3).mean((1, 3))
    assert np.abs(halved - small).mean() < 2


def test_a_lead_shifts_the_second_platform_against_the_first() -> None:
    """The second track's frame at 1.5 s stands under the first one's at 0.5 s."""
    one = make_track([*frames(*[1] * 30, 4, *[1] * 86)], "Merle")
    two = make_track([*frames(*[1] * 90, 4, *[1] * 26)], "Wren")
    overlay = Overlay(
        [one, two], load_style("quay"), 1920, 1080, first_refresh=0, end_refresh=120, lead_s=1.0
    )
    lane = lane_of(overlay, paint(flat(1920, 1080, 0), overlay.patches(60)))
    axis = overlay.layout.axis
    past = slice(overlay.layout.needle - 59 * 12, overlay.layout.needle - 10)
    np.testing.assert_array_equal(lane[:axis, past][::-1], lane[axis + 2 :][:axis][:, past])


@st.composite
def styles(draw: st.DrawFn) -> Style:
    """Any style that the schema lets through, within sizes that somebody might try."""
    base = load_style(draw(st.sampled_from(style_names())))
    pixels = st.floats(0, 60)
    lane = replace(
        base.lane,
        pixels_per_ms=draw(st.floats(0.1, 2)),
        cut_ms=draw(st.floats(20, 300)),
        paired_cut_ms=draw(st.floats(20, 300)),
        gap=draw(st.floats(0, 12)),
        needle=draw(st.floats(0.1, 0.95)),
        rules_ms=tuple(draw(st.lists(st.floats(1, 300), max_size=5))),
        rate_height=draw(pixels),
        minimap_height=draw(pixels),
    )
    place = Place(
        edge=draw(st.sampled_from(["bottom", "top", "left", "right"])),
        align=draw(st.sampled_from(["start", "centre", "end"])),
        length=draw(st.floats(0.15, 1)),
        readout=draw(st.sampled_from(["beside", "above"])),
    )
    readout = replace(
        base.readout,
        show=tuple(draw(st.lists(st.sampled_from(["frame_time", "late", "torn"]), max_size=3))),
        frame_rate_decimals=draw(st.integers(0, 2)),
        form=draw(st.sampled_from(["block", "column", "line"])),
        gutter=draw(pixels),
    )
    sizes = Type(*(draw(st.floats(8, 100)) for _ in range(4)))
    plate = replace(base.plate, padding=draw(st.floats(4, 60)))
    return replace(base, place=place, plate=plate, type=sizes, lane=lane, readout=readout)


@settings(max_examples=60, deadline=None)
@given(styles(), st.sampled_from(CANVASES[:3] + CANVASES[4:]), st.integers(1, 2))
def test_any_style_either_fits_or_says_that_it_does_not(
    style: Style, canvas: tuple[int, int], count: int
) -> None:
    track = make_track(eventful_spans())
    refusal = ""
    try:
        overlay = Overlay([track] * count, style, *canvas, first_refresh=0, end_refresh=400)
    except UsageError as error:
        refusal = str(error)
    else:
        check_patches(overlay, canvas)
        for number, _ in enumerate(overlay.layout.panels):
            panel = overlay.patches(150)[number].image.rgba
            assert (panel[:, [0, -1]] == panel[0, 0]).all()
    assert not refusal or refusal.startswith("overlay must fit the graphics-safe")


def test_an_overlay_too_large_for_its_picture_is_refused() -> None:
    style = load_style("quay")
    huge = replace(style, type=replace(style.type, unit=300.0, detail=300.0))
    with pytest.raises(UsageError) as caught:
        Overlay([make_track(frames(1))], huge, 640, 360, first_refresh=0, end_refresh=1)
    assert re.fullmatch(
        r"overlay must fit the graphics-safe 576x324 of the picture, got 576x\d+ with readouts of "
        r"\d+x\d+ and \d+ pixels of tiles; choose another style or smaller sizes in it",
        str(caught.value),
    )


def test_at_the_right_edge_an_upright_rail_is_the_mirror_of_one_at_the_left() -> None:
    mast = load_style("mast")
    right = replace(mast, place=replace(mast.place, edge="right"))
    track = make_track(eventful_spans())
    lanes = []
    for style in (mast, right):
        overlay = Overlay([track], style, 720, 1280, first_refresh=0, end_refresh=400)
        lanes.append(lane_of(overlay, paint(flat(720, 1280, 0), overlay.patches(120))))
    # But for the letters in a tile, which are never mirrored.
    same = (lanes[0] == lanes[1][:, ::-1]).all(-1)
    assert same.mean() > 0.99
