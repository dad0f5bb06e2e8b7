from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacerail.compose.zoom import zoomed


@given(st.integers(1, 9), st.integers(0, 5), st.integers(0, 5), st.sampled_from(["u1", "u2"]))
def test_every_nearest_cell_is_its_source_pixel(n: int, x: int, y: int, kind: str) -> None:
    most = np.iinfo(kind).max
    picture = np.random.default_rng(n).integers(0, most, (12, 14, 3), dtype=kind, endpoint=True)
    big = zoomed(picture, (x, y, 7, 6), (7 * n, 6 * n), "nearest")
    cells = big.reshape(6, n, 7, n, 3)
    assert (cells == picture[y : y + 6, x : x + 7][:, None, :, None]).all()


@pytest.mark.parametrize("filter_", ["linear", "cubic"])
def test_smooth_filters_keep_flat_parts_and_slopes(filter_: str) -> None:
    slope = np.broadcast_to(np.arange(0, 200, 10, dtype=np.uint8)[None, :, None], (20, 20, 3))
    big = zoomed(slope, (4, 4, 8, 8), (64, 64), filter_)
    wanted = 10 * (4 + (np.arange(64) + 0.5) / 8 - 0.5)
    assert np.abs(big[30, :, 0] - wanted).max() <= 0.51
    assert (zoomed(np.full_like(slope, 77), (1.3, 2.7, 9, 9), (50, 50), filter_) == 77).all()


def test_cubic_follows_a_parabola_exactly() -> None:
    # Keys, IEEE Trans. ASSP 29(6), 1981: with a = -1/2 the kernel reproduces any polynomial
    # of second degree.
    columns = np.arange(30)
    row = (70 * columns.astype(np.int64) ** 2 + 40).astype(np.uint16)
    picture = np.broadcast_to(row[None, :, None], (12, 30, 3))
    big = zoomed(picture, (5, 2, 12, 8), (60, 40), "cubic")
    places = 5 + (np.arange(60) + 0.5) / 5 - 0.5
    assert np.abs(big[20, :, 0] - (70 * places**2 + 40)).max() <= 0.6
