"""Times in tiles: told in full, kept in view, away from the needle, gone where there is no room."""

from __future__ import annotations

import functools
from fractions import Fraction

import pytest

from pacerail.draw.overlay import Overlay
from pacerail.draw.scale import scale_for
from pacerail.draw.side import Side
from pacerail.draw.style import load_style, style_names
from pacerail.draw.tile_times import TileTime, tile_times
from pacerail.draw.tiles import lay_tiles
from pacerail.patch import Patch
from tests.draw.made_tracks import frames, make_track

STYLES = [name for name in style_names() if load_style(name).lane.stall_times]
CANVASES = [(640, 360), (1920, 1080), (3840, 2160), (1080, 1920), (1080, 1080)]
STALL = 40
"""Refresh in which the stall of fourteen refreshes, 233 ms, begins."""
TRACK = make_track(frames(*[1] * STALL, 14, *[1] * 200))


@functools.cache
def overlay_of(style: str, canvas: tuple[int, int], tracks: int) -> Overlay:
    return Overlay([TRACK] * tracks, load_style(style), *canvas, first_refresh=0, end_refresh=250)


def times_shown(overlay: Overlay, refresh: int) -> list[Patch]:
    """The patches between the strip and the gutter, which are those of times."""
    patches = overlay.patches(refresh)
    lane, gutter = overlay.layout.lane, overlay.layout.gutter
    corner = next(n for n, p in enumerate(patches) if (p.x, p.y) == (gutter.x, gutter.y))
    across = lane.height if overlay.layout.flow == "right" else lane.width
    inside = [p for p in patches[len(overlay.layout.panels) : corner] if p.x >= lane.x]
    return [p for p in inside if across not in (p.width, p.height) and p.y >= lane.y]


@pytest.mark.parametrize("tracks", [1, 2])
@pytest.mark.parametrize("canvas", CANVASES, ids=str)
@pytest.mark.parametrize("style", STYLES)
def test_a_time_is_shown_whole_inside_the_lane_and_beside_the_needle(
    style: str, canvas: tuple[int, int], tracks: int
) -> None:
    overlay = overlay_of(style, canvas, tracks)
    layout = overlay.layout
    lane = layout.lane
    needle = overlay.patches(0)[-1 if layout.minimap is None else -3]
    shown = 0
    for refresh in range(STALL - 30, STALL + 120):
        for patch in times_shown(overlay, refresh):
            shown += 1
            assert (patch.source_x, patch.source_y) == (0, 0)
            assert patch.image.rgba.shape[:2] == (patch.height, patch.width)
            assert lane.x <= patch.x <= patch.x + patch.width <= lane.right
            assert lane.y <= patch.y <= patch.y + patch.height <= lane.bottom
            apart = (
                patch.x + patch.width < needle.x
                or patch.x > needle.x + needle.width
                or patch.y + patch.height < needle.y
                or patch.y > needle.y + needle.height
            )
            assert apart
    # Seen for most of the way of the tile through the lane.
    assert shown >= 30 * tracks


def shown_at(lengths: tuple[float, ...], start: int, length: int) -> list[TileTime]:
    """The times on a stretch of quay's strip, in which a refresh takes 12 pixels."""
    scale = scale_for(Fraction(60), load_style("quay").lane.pixels_per_ms, 1.0)
    look = overlay_of("quay", (1920, 1080), 1).layout.bands.look
    tiles = lay_tiles(make_track(frames(*lengths)).series, scale)
    side = Side("right", 1, start, length, 200)
    return list(tile_times(side, tiles, look, [range(start, start + length)]))


def test_it_stands_in_the_middle_and_then_keeps_to_what_is_in_view() -> None:
    lengths = (1.0,) * 10 + (14.0,) + (1.0,) * 10
    (free,) = shown_at(lengths, 0, 400)
    assert free.text == "233 ms"
    assert abs(free.box.x + free.box.width / 2 - (120 + 84)) <= 2
    (kept,) = shown_at(lengths, 180, 400)
    # The tile is seen from pixel 0 to 107 of the image; the time keeps to its right half.
    assert 6 <= kept.box.x <= kept.box.right <= 102
    assert shown_at(lengths, 220, 400) == []


def test_the_unit_goes_only_where_the_tile_is_cut_off() -> None:
    """The lane is cut at 120 ms: a tile of 100 ms tells its time by its height."""
    assert [time.text for time in shown_at((12.0, 1.0), 0, 400)] == ["200 ms"]
    assert [time.text for time in shown_at((7.4, 1.0), 0, 400)] == ["123"]
    assert shown_at((4.0, 1.0, 6.0, 1.0), 0, 400) == []


@pytest.mark.parametrize("lengths", [(1.0,) * 20, (2.0,) * 20])
def test_even_paces_carry_no_times(lengths: tuple[float, ...]) -> None:
    assert shown_at(lengths, 0, 400) == []
