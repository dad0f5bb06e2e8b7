"""Numbers that never jump, checked on texts and on the ink of drawn readouts."""

import functools
import math

import numpy as np
import pytest
from numpy.typing import NDArray

from pacerail.draw.canvas import Box, Drawing
from pacerail.draw.colour import Colour
from pacerail.draw.lettering import DASH, Weight, text_width
from pacerail.draw.overlay import Overlay
from pacerail.draw.reading import Reader, Reading
from pacerail.draw.readout import Readout
from pacerail.draw.style import load_style, style_names
from tests.draw.made_tracks import FRAME, STILL, eventful_spans, frames, make_track

QUAY = load_style("quay")


def ink_columns(reading: Reading, width: int = 420, height: int = 120) -> NDArray[np.bool_]:
    """Which columns of a drawn readout hold ink."""
    track = make_track(eventful_spans())
    readout = Readout(track, [track], QUAY, 1.0)
    image = Drawing(
        width,
        height,
        Colour(0, 0, 0, 0),
        lambda canvas: readout.draw(canvas, Box(0, 0, width, height), reading),
    ).image()
    ink: NDArray[np.bool_] = image.rgba[..., 3] > 40
    return ink


@pytest.mark.parametrize("weight", ["Regular", "Medium", "SemiBold"])
def test_every_digit_and_its_dash_have_one_width(weight: Weight) -> None:
    widths = {round(text_width(digit, 64, weight), 2) for digit in "0123456789" + DASH}
    assert len(widths) == 1


def test_a_changed_digit_changes_ink_in_its_own_cell_only() -> None:
    first = ink_columns(Reading("47", "fps", ("16.7", "12", "3.0")))
    second = ink_columns(Reading("48", "fps", ("16.7", "12", "3.0")))
    changed = np.flatnonzero((first != second).any(axis=0))
    cell = text_width("0", QUAY.type.frame_rate, "SemiBold")
    assert changed.min() >= math.floor(cell)
    assert changed.max() <= math.ceil(2 * cell)


@pytest.mark.parametrize("number", [str(n) for n in range(10, 100, 11)])
def test_the_unit_stays_where_it_is_whatever_the_number(number: str) -> None:
    def unit(text: str) -> NDArray[np.bool_]:
        return ink_columns(Reading(text, "fps", ("", "", "")))[:, 88:140]

    np.testing.assert_array_equal(unit(number), unit(DASH * 2))


def test_a_number_that_cannot_be_told_is_a_dash_as_wide_as_the_number() -> None:
    reader = Reader(make_track([*frames(*[1] * 90), (STILL, 60, 0.0)]), QUAY)
    moving, still = reader.read(80 / 60), reader.read(120 / 60)
    assert (moving.frame_rate, moving.rate_word) == ("60", "fps")
    assert (still.frame_rate, still.rate_word) == (DASH * 2, "still")
    assert still.details[0] == f"{DASH * 2}.{DASH}"
    for before, after in zip(moving.details, still.details, strict=True):
        assert len(before) == len(after)


def test_cells_are_wide_enough_for_every_reading_of_a_track() -> None:
    track = make_track(eventful_spans())
    reader = Reader(track, QUAY)
    widest = reader.widest
    for refresh in range(track.series.refreshes):
        reading = reader.read(refresh / 60)
        assert len(reading.frame_rate) <= len(widest.frame_rate)
        for value, room in zip(reading.details, widest.details, strict=True):
            assert len(value) <= len(room)


def test_numbers_change_at_most_six_times_a_second() -> None:
    overlay = Overlay(
        [make_track(eventful_spans())], QUAY, 1280, 720, first_refresh=0, end_refresh=300
    )
    shown = [overlay.patches(refresh)[0].image for refresh in range(300)]
    changes = [refresh for refresh in range(1, 300) if shown[refresh] is not shown[refresh - 1]]
    assert len(changes) > 5
    assert np.diff(changes).min() >= 10


def test_every_form_fits_the_size_it_asks_for() -> None:
    for style in ("quay", "mast", "wake"):
        track = make_track(eventful_spans())
        readout = Readout(track, [track], load_style(style), 1.0)
        width, height = math.ceil(readout.width), math.ceil(readout.height)
        pad = 40
        box = Box(pad, pad, width, height)
        image = Drawing(
            2 * pad + width + width % 2,
            2 * pad + height + height % 2,
            Colour(0, 0, 0, 0),
            functools.partial(readout.draw, box=box, reading=readout.reader.widest),
        ).image()
        rows, columns = np.nonzero(image.rgba[..., 3] > 40)
        assert columns.min() >= pad - 1
        assert columns.max() <= pad + width
        assert rows.min() >= pad - 3
        # Letters such as p reach below the line they stand on.
        assert rows.max() <= pad + height + 0.3 * load_style(style).type.detail


def test_two_platforms_share_their_columns() -> None:
    """A short and a long label, few and many late frames: every number ends at one column."""
    tracks = [
        make_track(frames(*[1] * 200), "Wren"),
        make_track(frames(*[2] * 100), "Merle at the quay"),
    ]
    overlay = Overlay(tracks, load_style("wake"), 1920, 1080, first_refresh=0, end_refresh=200)
    first, second = (patch.image.rgba for patch in overlay.patches(180)[:2])
    bright = [(image[..., 0] > 240).any(axis=0) for image in (first, second)]
    # The last bright column before the word of the frame time is its last digit's.
    ends = [np.flatnonzero(columns)[-1] for columns in bright]
    assert abs(int(ends[0]) - int(ends[1])) <= 4


def test_outside_its_capture_a_track_says_nothing_or_that_it_ended() -> None:
    reader = Reader(make_track(frames(*[1] * 90)), QUAY)
    before, after = reader.read(-0.1), reader.read(1.5)
    assert (before.frame_rate, before.rate_word) == (DASH * 2, "fps")
    assert (after.frame_rate, after.rate_word) == (DASH * 2, "ended")
    assert reader.read(89 / 60).rate_word == "fps"


@pytest.mark.parametrize("tracks", [1, 2])
@pytest.mark.parametrize(
    "canvas",
    [(640, 360), (1920, 1080), (3840, 2160), (360, 640), (1080, 1920), (1080, 1080)],
    ids=str,
)
@pytest.mark.parametrize("style", style_names())
def test_the_widest_reading_keeps_clear_of_the_edges(
    style: str, canvas: tuple[int, int], tracks: int
) -> None:
    """A stall of 233 ms, a thousand late frames, most of them torn: nothing is cut."""
    stall = make_track([*frames(*[1] * 80, 14), *[(FRAME, 3.0, 0.5)] * 1200, *frames(*[1] * 60)])
    overlay = Overlay(
        [stall] * tracks, load_style(style), *canvas, first_refresh=0, end_refresh=3700
    )
    padding = overlay.layout.bands.padding // 2
    for refresh in (90, 3600):
        for patch in overlay.patches(refresh)[:tracks]:
            panel = patch.image.rgba
            rim = np.ones(panel.shape[:2], bool)
            # Letters such as p may reach towards the lane.
            rim[1:-1, padding:-padding] = False
            assert (panel[rim] == panel[0, 0]).all()
    readings = [Reader(stall, load_style(style)).read(refresh / 60) for refresh in (90, 3600)]
    assert readings[0].details[0] == "233.3"
    assert len(readings[1].details[1]) == 4
