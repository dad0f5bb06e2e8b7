"""What tiles look like, checked on the pixels of a composed strip."""

from collections.abc import Sequence

import numpy as np
import pytest
from numpy.typing import NDArray

from pacerail.draw.colour import Colour
from pacerail.draw.overlay import Overlay
from pacerail.draw.style import load_style
from pacerail.series import SpanKind
from tests.draw.made_tracks import FAULT, FRAME, OPEN, STILL, Span, flat, frames, make_track, paint

QUAY = load_style("quay")
PITCH = 12
"""Pixels per refresh of that style at 60 Hz and 1080 lines."""
BEFORE = 40
"""Refreshes of even pace before the spans under test."""


def tiles_of(spans: Sequence[Span], after: int = 40) -> NDArray[np.uint8]:
    """The tile lane from the foot of the tiles up, columns from the first span on; on black."""
    track = make_track([*frames(*[1] * BEFORE), *spans, *frames(*[1] * after)])
    overlay = Overlay(
        [track], QUAY, 1920, 1080, first_refresh=0, end_refresh=track.series.refreshes
    )
    length = round(sum(span[1] for span in spans))
    picture = paint(flat(1920, 1080, 0), overlay.patches(BEFORE + length + 10))
    lane, axis = overlay.layout.lane, overlay.layout.axis
    end = lane.x + overlay.layout.needle - 10 * PITCH
    return picture[lane.y : lane.y + axis, end - length * PITCH : end][::-1]


def is_colour(pixels: NDArray[np.uint8], colour: Colour) -> NDArray[np.bool_]:
    wanted = np.array([colour.red, colour.green, colour.blue])
    result: NDArray[np.bool_] = (np.abs(pixels.astype(float) - wanted) < 1.5).all(axis=-1)
    return result


def extent(mask: NDArray[np.bool_]) -> tuple[int, int, int, int]:
    """First and last row and column, one past, of the true part."""
    rows, columns = np.flatnonzero(mask.any(1)), np.flatnonzero(mask.any(0))
    return int(rows[0]), int(rows[-1]) + 1, int(columns[0]), int(columns[-1]) + 1


def test_tiles_reach_from_their_gap_to_their_frame_time() -> None:
    on_pace = is_colour(tiles_of(frames(1)), QUAY.colours.on_pace)
    assert extent(on_pace) == (2, 12, 0, 10)
    late = is_colour(tiles_of(frames(2)), QUAY.colours.late)
    assert extent(late) == (2, 24, 0, 22)


def test_a_tile_that_outgrows_the_lane_fills_it_and_ends_in_teeth() -> None:
    block = is_colour(tiles_of(frames(12)), QUAY.colours.far_late)
    bottom, top, left, right = extent(block)
    assert (bottom, left, right) == (2, 0, 12 * PITCH - 2)
    assert top == pytest.approx(120 * 0.72, abs=2)
    filled = block.sum(axis=1)
    assert filled[top - 1] < 0.5 * filled[top - 12]


def test_a_tile_within_the_lane_has_a_level_top() -> None:
    block = is_colour(tiles_of(frames(6)), QUAY.colours.far_late)
    _, top, _, _ = extent(block)
    assert top == 6 * PITCH
    assert block[top - 1].sum() == 6 * PITCH - 2


@pytest.mark.parametrize("share", [0.2, 0.5, 0.8])
def test_a_torn_tile_is_slit_where_the_screen_was_cut(share: float) -> None:
    tile = is_colour(tiles_of([(FRAME, 4, share)]), QUAY.colours.far_late)
    column = tile[:, 4]
    inside = np.flatnonzero(~column[2:48]) + 2
    assert len(inside) == 2
    height_share = 1 - (inside.mean() + 0.5 - 2) / 46
    assert height_share == pytest.approx(share, abs=1.5 / 46)


def test_a_still_span_is_a_low_hatched_bar() -> None:
    still = is_colour(tiles_of([(STILL, 40, 0.0)]), QUAY.colours.still)
    bottom, top, _, _ = extent(still)
    assert (bottom, top) == (2, PITCH)
    assert 0.3 < still[2:12, 20:400].mean() < 0.7
    assert still[6, 20:60].any()
    assert not still[6, 20:60].all()


@pytest.mark.parametrize("kind", [FAULT, OPEN])
def test_a_fault_and_an_open_span_are_empty_outlines(kind: SpanKind) -> None:
    area = tiles_of([(kind, 20, 0.0)]).astype(int)
    ground = tiles_of([(FAULT, 40, 0.0)])[60, 60].astype(int)
    edge = np.abs(area[2:4, 4:200] - ground).sum(-1)
    assert (edge > 30).all()
    inner = np.abs(area[5:9, 4:200] - ground).sum(-1)
    assert (inner < 3).all()


def test_a_long_frame_carries_its_time_and_a_short_one_does_not() -> None:
    with_text = tiles_of(frames(14))
    dark = with_text[10:70, 20:140].astype(int).sum(-1) < 150
    assert dark.any()
    without = tiles_of(frames(4))
    assert is_colour(without[2:46, 2:40], QUAY.colours.far_late).all()
