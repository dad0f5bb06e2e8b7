from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacerail.errors import UsageError
from pacerail.region import Region

share = st.floats(0, 1, allow_nan=False)


@st.composite
def regions(draw: st.DrawFn) -> Region:
    x, y = draw(st.floats(0, 0.99)), draw(st.floats(0, 0.99))
    return Region(x, y, draw(st.floats(0.001, 1 - x)), draw(st.floats(0.001, 1 - y)))


@given(regions(), st.integers(1, 3000), st.integers(1, 3000))
def test_slices_lie_inside_and_hold_something(region: Region, rows: int, columns: int) -> None:
    down, across = region.slices(rows, columns)
    assert 0 <= down.start < down.stop <= rows
    assert 0 <= across.start < across.stop <= columns


@given(st.integers(1, 3000), st.integers(1, 3000))
def test_the_whole_picture_is_the_whole_picture(rows: int, columns: int) -> None:
    assert Region(0, 0, 1, 1).slices(rows, columns) == (slice(0, rows), slice(0, columns))


@given(st.floats(0.01, 0.99), st.integers(100, 3000))
def test_halves_that_share_an_edge_share_no_row(edge: float, rows: int) -> None:
    upper = Region(0, 0, 1, edge).slices(rows, 10)[0]
    lower = Region(0, edge, 1, 1 - edge).slices(rows, 10)[0]
    assert (upper.start, upper.stop, lower.stop) == (0, lower.start, rows)


def test_text_round_trip() -> None:
    region = Region.parse("0.25, 0, 0.5,1")
    assert region == Region(0.25, 0, 0.5, 1)
    assert Region.parse(str(region)) == region


@pytest.mark.parametrize("text", ["", "1,2,3", "0,0,1,1,1", "a,b,c,d", "0;0;1;1"])
def test_what_is_no_region_is_refused(text: str) -> None:
    with pytest.raises(UsageError, match="region must be four numbers x,y,width,height"):
        Region.parse(text)


@pytest.mark.parametrize(
    "text", ["0.5,0,0.6,1", "-0.1,0,0.5,1", "0,0,0,1", "0,0.5,1,0.51", "nan,0,1,1"]
)
def test_a_region_outside_the_picture_is_refused(text: str) -> None:
    with pytest.raises(
        UsageError, match=r"region must lie inside the picture.*fractions from 0 to 1"
    ):
        Region.parse(text)
