from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pacerail.choices import LAYOUTS
from pacerail.compose.arrangement import Arrangement, Divider, Placement
from pacerail.compose.placing import arrange, cells, tab
from pacerail.compose.rectangle import PictureShape, Rectangle, fitted, safe_area
from pacerail.errors import UsageError

WIDE, TALL, SQUARE = (1920, 1080), (1080, 1920), (1080, 1080)
FULL_HD = PictureShape(1920, 1080)

shapes = st.builds(
    PictureShape,
    st.integers(160, 4096),
    st.integers(120, 2160),
    st.sampled_from([Fraction(1), Fraction(4, 3), Fraction(10, 11)]),
)
canvases = st.tuples(st.integers(160, 2000), st.integers(160, 2000)).map(
    lambda size: (2 * size[0], 2 * size[1])
)


def rails_of(
    layout: str, canvas: tuple[int, int], pair: tuple[PictureShape, PictureShape]
) -> list[Rectangle]:
    """A rail along the foot of the room of each cell, as tall as most styles draw it."""
    rails = []
    for cell in cells(layout, canvas, pair):
        room = cell.room.meet(safe_area(canvas))
        height = min(canvas) // 10 * 2
        rails.append(room._replace(y=(room.bottom - height) // 2 * 2, height=height))
    return rails


def arranged(layout: str, canvas: tuple[int, int], **options: object) -> Arrangement:
    pair = FULL_HD, FULL_HD
    rails = rails_of(layout, canvas, pair)
    return arrange(layout, canvas, pair, rails, **options)  # type: ignore[arg-type]


@given(st.sampled_from(LAYOUTS), canvases, shapes, shapes, st.booleans())
def test_pictures_lie_even_on_the_canvas_and_keep_their_shape(
    layout: str, canvas: tuple[int, int], one: PictureShape, other: PictureShape, scales: bool
) -> None:
    pair = one, other
    rails = rails_of(layout, canvas, pair)
    assume(all(rail.width > 0 and rail.y >= 0 for rail in rails))
    try:
        arrangement = arrange(layout, canvas, pair, rails, scales=scales)
    except UsageError:
        return
    for shape, place in zip(pair, arrangement.placements, strict=True):
        if place is None:
            continue
        target = place.target
        assert not any(number % 2 for number in (*target, *place.size, place.source_x))
        assert target.meet(Rectangle(0, 0, *canvas)) == target
        assert place.source_x + target.width <= place.size[0]
        assert place.source_y + target.height <= place.size[1]
        if scales:
            # A side is off by one pixel at most from the exact proportion.
            exact = target.width / shape.aspect
            slack = 1 + max(Fraction(1), 1 / shape.aspect)
            assert abs(target.height - exact) <= slack or target.height == 2
        else:
            assert place.size == (shape.width // 2 * 2, shape.height // 2 * 2)


@given(st.sampled_from(["abreast", "stacked"]), canvases, shapes, shapes)
def test_neither_pictures_nor_rails_of_two_cells_meet(
    layout: str, canvas: tuple[int, int], one: PictureShape, other: PictureShape
) -> None:
    pair = one, other
    rails = rails_of(layout, canvas, pair)
    assume(all(rail.width > 0 and rail.y >= 0 for rail in rails))
    try:
        arrangement = arrange(layout, canvas, pair, rails)
    except UsageError:
        return
    moved = [
        rail._replace(x=rail.x + right, y=rail.y + down)
        for rail, (right, down) in zip(rails, arrangement.rail_moves, strict=True)
    ]
    boxes = [*moved, *(place.target for place in arrangement.placed)]
    for number, box in enumerate(boxes):
        assert not any(box.meet(other).pixels for other in boxes[number + 1 :])
    for rail in moved:
        assert rail.meet(safe_area(canvas)) == rail


@pytest.mark.parametrize("canvas", [WIDE, TALL, SQUARE])
@pytest.mark.parametrize("layout", ["abreast", "stacked"])
def test_like_pictures_are_shown_alike(layout: str, canvas: tuple[int, int]) -> None:
    first, second = arranged(layout, canvas).placements
    assert first is not None
    assert second is not None
    assert first.size == second.size
    if layout == "abreast":
        assert first.target.y == second.target.y


def test_abreast_fills_each_half_of_a_wide_canvas() -> None:
    first, second = arranged("abreast", WIDE).placements
    assert first is not None
    assert second is not None
    # But for the seam between them.
    assert first.target[:1] + first.target[2:] == (0, 952, 536)
    assert second.target[:1] + second.target[2:] == (966, 952, 536)


def test_pictures_at_their_own_pixels_show_their_middle() -> None:
    first, _ = arranged("abreast", WIDE, scales=False).placements
    assert first is not None
    assert first.size == (1920, 1080)
    assert (first.target.width, first.source_x) == (954, 482)
    assert first.source_y == (1080 - first.target.height) // 4 * 2


@pytest.mark.parametrize("canvas", [WIDE, TALL, SQUARE])
def test_a_split_picture_shows_each_place_once_and_both_at_the_same_place(
    canvas: tuple[int, int],
) -> None:
    arrangement = arranged("split", canvas, divider=Divider(sweep_s=Fraction(4)))
    columns = []
    for moment in range(0, 4 * 60, 7):
        (_, left), (_, right) = arrangement.shown(Fraction(moment, 60))
        column = arrangement.divider_column(Fraction(moment, 60))
        columns.append(column)
        assert left.target.right == right.target.x == column
        whole = arrangement.placed[0].target
        assert left.target.width + right.target.width == whole.width
        # The same pixel of the scaled picture lies at the same pixel of the canvas.
        assert left.target.x - left.source_x == right.target.x - right.source_x
    assert len(set(columns)) > 20


def test_a_fixed_line_stands_at_its_share() -> None:
    arrangement = arranged("split", WIDE, divider=Divider(Fraction(1, 4)))
    assert {arrangement.divider_column(Fraction(n, 7)) for n in range(9)} == {480}


def test_a_moving_line_starts_in_the_middle_and_comes_back() -> None:
    line = Divider(sweep_s=Fraction(4))
    assert line.share_at(Fraction(0)) == pytest.approx(0.5)
    assert line.share_at(Fraction(1)) == pytest.approx(0.1)
    assert line.share_at(Fraction(3)) == pytest.approx(0.9)
    shares = [line.share_at(Fraction(n, 60)) for n in range(241)]
    assert max(abs(b - a) for a, b in pairwise(shares)) < 0.011  # 0.8 / 2 * tau / 4 / 60
    assert shares[0] == pytest.approx(shares[-1])


@pytest.mark.parametrize("canvas", [WIDE, TALL, SQUARE])
def test_the_small_picture_lies_on_the_large_one_clear_of_the_rail(
    canvas: tuple[int, int],
) -> None:
    rails = rails_of("inset", canvas, (FULL_HD, FULL_HD))
    arrangement = arrange("inset", canvas, (FULL_HD, FULL_HD), rails)
    large, small = (place.target for place in arrangement.placed)
    assert small.meet(large) == small
    assert small.meet(safe_area(canvas)) == small
    right, down = arrangement.rail_moves[0]
    rail = rails[0]._replace(x=rails[0].x + right, y=rails[0].y + down)
    assert small.meet(rail).pixels == 0


@pytest.mark.parametrize(("layout", "shown"), [("first", 0), ("second", 1)])
def test_a_single_picture_fills_the_canvas(layout: str, shown: int) -> None:
    arrangement = arranged(layout, WIDE)
    assert arrangement.placements[1 - shown] is None
    assert list(arrangement.shown(Fraction(0))) == [
        (shown, Placement(WIDE, 0, 0, Rectangle(0, 0, *WIDE)))
    ]


def test_a_wide_picture_on_an_upright_canvas_lies_over_its_rail_not_under_it() -> None:
    arrangement = arranged("first", TALL)
    rail = rails_of("first", TALL, (FULL_HD, FULL_HD))[0]
    picture = arrangement.placed[0].target
    assert (picture.width, picture.height) == (1080, 608)
    moved = rail._replace(y=rail.y + arrangement.rail_moves[0][1])
    assert 0 < moved.y - picture.bottom < 60
    # Both together stand in the middle, to the two pixels that evenness costs.
    assert abs(picture.y - (1920 - moved.bottom)) <= 2


@given(canvases, shapes)
def test_a_fitted_picture_touches_two_sides_of_its_box(
    canvas: tuple[int, int], shape: PictureShape
) -> None:
    box = Rectangle(0, 0, *canvas)
    picture = fitted(shape, box)
    assert picture.width == box.width or picture.height == box.height
    assert picture.meet(box) == picture


def test_graphics_that_leave_no_room_are_refused() -> None:
    rails = [Rectangle(0, 10, 960, 1060), Rectangle(960, 10, 960, 1060)]
    with pytest.raises(UsageError, match="graphics must leave room for the pictures, got 1920x"):
        arrange("abreast", WIDE, (FULL_HD, FULL_HD), rails)


@pytest.mark.parametrize("canvas", [WIDE, TALL, SQUARE])
@pytest.mark.parametrize("top", [0.06, 0.5, 0.75])
def test_a_note_covers_neither_rail_nor_inset(canvas: tuple[int, int], top: float) -> None:
    width, height = canvas
    safe = safe_area(canvas)
    rail = Rectangle(safe.x, int(height * top) // 2 * 2, safe.width, height // 10 * 2)
    inset = Rectangle(safe.right - 300, safe.y, 300, 168)
    spot = tab((240, 60), canvas, Rectangle(0, 0, width, height), [rail, inset])
    assert spot.meet(safe) == spot
    assert spot.meet(rail).pixels == 0
    if top > 0.3:
        assert spot.meet(inset).pixels == 0
