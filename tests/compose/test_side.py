from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import floor
from pathlib import Path

import av
import numpy as np
import pytest

from pacerail.compose.colour import code_matrix
from pacerail.compose.footage import Footage, footage_of, opening_footage
from pacerail.compose.layout import component_views, layout_of
from pacerail.compose.rate import RateChange
from pacerail.compose.side import DIMMED, Scaler, Side, dimmed, ready_pictures, stated
from tests.compose.clips import decoded, moving_picture, refresh_grid, write_clip
from tests.compose.numbered import MOST, code_of, number_of, write_numbered

NTSC = Fraction(60000, 1001)


def footage(
    width: int = 320, height: int = 180, *, matrix: int = 1, colour_range: int = 1
) -> Footage:
    return Footage(width, height, "yuv420p", matrix, colour_range, 1, 1)


def numbers_shown(
    path: Path,
    pictures: int,
    *,
    refresh_hz: Fraction,
    rate: Fraction,
    first: int = 0,
    end: int,
) -> list[tuple[int, bool]]:
    """For each picture of the clip, which picture of the capture it shows, and if it is held."""
    with av.open(str(path)) as container:
        video = container.streams.video[0]
        source = opening_footage(container, video)
        side = Side(
            container,
            video,
            source,
            refresh_grid(path, refresh_hz),
            first,
            end,
            RateChange(refresh_hz, rate),
        )
        reading = ready_pictures(side, Scaler(source, source))
        shown = []
        ready = next(reading)
        for picture in range(pictures):
            while ready.end_picture is not None and ready.end_picture <= picture:
                ready = next(reading)
            luma = float(component_views(ready.frame, layout_of("yuv420p"))[0][0, 0])
            if ready.end_picture is None:
                luma = 16 + (luma - 16) / (1 - DIMMED)
            shown.append((number_of(luma), ready.end_picture is None))
        reading.close()
    return shown


@pytest.mark.parametrize(
    ("refresh_hz", "rate", "first"),
    [
        (Fraction(60), Fraction(60), 0),
        (Fraction(60), Fraction(60), 17),
        (Fraction(60), Fraction(120), 5),
        (Fraction(120), Fraction(60), 3),
        (NTSC, Fraction(60), 0),
        (Fraction(60), NTSC, 11),
        (Fraction(50), Fraction(60), 2),
    ],
)
def test_each_picture_shows_the_refresh_that_is_on_screen_at_its_time(
    tmp_path: Path, refresh_hz: Fraction, rate: Fraction, first: int
) -> None:
    path = write_numbered(tmp_path / "side.mkv", range(MOST), rate=refresh_hz)
    pictures = floor((MOST - first) * rate / refresh_hz)
    shown = numbers_shown(path, pictures, refresh_hz=refresh_hz, rate=rate, first=first, end=MOST)
    # By definition: picture n is at n / rate s, and the display was in this refresh then.
    expected = [first + floor(Fraction(n) / rate * refresh_hz) for n in range(pictures)]
    assert shown == [(number, False) for number in expected]


def test_ntsc_against_sixty_repeats_one_picture_in_1001(tmp_path: Path) -> None:
    # Far into the capture the grid has slipped: refresh 999 is shown by pictures 1000 and on.
    change = RateChange(NTSC, Fraction(60))
    assert change.refresh_shown(1000) == 999
    assert change.refresh_shown(1001) == 1000
    assert change.pictures_before(1000) == 1001


def test_a_lost_refresh_is_filled_with_the_picture_before_it(tmp_path: Path) -> None:
    kept = [0, 1, 2, 5, 6, 7]
    path = write_numbered(tmp_path / "side.mkv", kept)
    shown = numbers_shown(path, 8, refresh_hz=Fraction(60), rate=Fraction(60), end=8)
    assert [number for number, _ in shown] == [0, 1, 2, 2, 2, 5, 6, 7]


def test_a_lost_first_refresh_is_filled_with_the_one_after(tmp_path: Path) -> None:
    path = write_numbered(tmp_path / "side.mkv", [0, 1, 4, 5, 6])
    shown = numbers_shown(path, 4, refresh_hz=Fraction(60), rate=Fraction(60), first=3, end=7)
    assert [number for number, _ in shown] == [4, 4, 5, 6]


def test_the_last_picture_is_held_dimmed_after_the_end(tmp_path: Path) -> None:
    path = write_numbered(tmp_path / "side.mkv", range(6))
    shown = numbers_shown(path, 9, refresh_hz=Fraction(60), rate=Fraction(60), end=6)
    assert shown == [*((n, False) for n in range(6)), (5, True), (5, True), (5, True)]


def test_a_picture_that_fits_already_keeps_its_buffer(tmp_path: Path) -> None:
    frame = decoded(write_clip(tmp_path / "in.mp4", pictures=1, audio=None))[0]
    source = footage_of(frame)
    assert Scaler(source, source).scale(frame) is frame


@pytest.mark.parametrize(
    ("one", "other"), [((6, 1), (1, 1)), ((1, 2), (1, 1)), ((1, 1), (6, 2)), ((9, 1), (1, 1))]
)
def test_matrix_and_range_are_brought_to_those_of_the_canvas(
    one: tuple[int, int], other: tuple[int, int]
) -> None:
    # Flat colours, so that neither scaling nor chroma siting has a say.
    colours = np.array([[200, 40, 60], [30, 180, 90], [128, 128, 128], [20, 60, 210]])
    source, target = (
        footage(matrix=matrix, colour_range=colour_range) for matrix, colour_range in (one, other)
    )
    layout = layout_of("yuv420p")
    for colour in colours:
        rgba = np.append(colour / 255, 1)
        frame = av.VideoFrame(320, 180, "yuv420p")
        for view, code in zip(
            component_views(frame, layout), rgba @ code_matrix(source.signal(layout)), strict=True
        ):
            view[...] = round(code)
        wanted = rgba @ code_matrix(target.signal(layout))
        scaled = Scaler(source, target).scale(frame)
        for view, code in zip(component_views(scaled, layout), wanted, strict=True):
            # Two roundings, here and in the scaler's own way by 8-bit colours.
            assert abs(float(view[90 // 2, 80]) - code) <= 2.5


def test_scaling_down_does_not_alias() -> None:
    # Lines one pixel wide are beyond what half the size can show: middle grey is left.
    frame = av.VideoFrame(320, 180, "yuv420p")
    luma, *chroma = component_views(frame, layout_of("yuv420p"))
    luma[:, 0::2], luma[:, 1::2] = 235, 16
    for view in chroma:
        view[...] = 128
    scaled = Scaler(footage(), footage(160, 90)).scale(frame)
    inner = component_views(scaled, layout_of("yuv420p"))[0][4:-4, 4:-4]
    assert np.ptp(inner) <= 2
    assert abs(float(inner.mean()) - 125.5) <= 1


def test_scaling_keeps_pictures_in_place() -> None:
    frame = av.VideoFrame.from_ndarray(moving_picture(0, 320, 180), "rgb24")
    whole = Scaler(footage(), footage())  # nothing to do for its own format
    yuv = frame.reformat(format="yuv420p", dst_colorspace="ITU709")
    halved = Scaler(footage(), footage(160, 90)).scale(whole.scale(yuv))
    luma = component_views(yuv, layout_of("yuv420p"))[0].astype(float)
    means = luma.reshape(90, 2, 160, 2).mean((1, 3))
    got = component_views(halved, layout_of("yuv420p"))[0]
    # Away from the wrap of the gradients, the mean of each two by two pixels.
    assert np.median(np.abs(got - means)) <= 1


@pytest.mark.parametrize(("height", "matrix"), [(1080, 1), (480, 6)])
def test_footage_that_tells_no_matrix_is_taken_as_players_take_it(height: int, matrix: int) -> None:
    told = stated(footage(640, height, matrix=2, colour_range=0))
    assert (told.matrix, told.colour_range) == (matrix, 1)


def test_a_dimmed_picture_is_a_copy_nearer_to_black(tmp_path: Path) -> None:
    frame = decoded(write_clip(tmp_path / "in.mp4", pictures=1, audio=None))[0]
    before = [view.copy() for view in component_views(frame, layout_of("yuv420p"))]
    dark = component_views(dimmed(frame, footage_of(frame)), layout_of("yuv420p"))
    for view, kept in zip(component_views(frame, layout_of("yuv420p")), before, strict=True):
        np.testing.assert_array_equal(view, kept)
    for view, kept, zero in zip(dark, before, (16, 128, 128), strict=True):
        wanted = zero + (kept.astype(float) - zero) * (1 - DIMMED)
        assert np.abs(view - wanted).max() <= 1.5


def test_codes_are_told_apart() -> None:
    codes: Sequence[int] = [code_of(number) for number in range(MOST)]
    assert max(codes) < 235
    assert [number_of(code) for code in codes] == list(range(MOST))
