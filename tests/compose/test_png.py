from __future__ import annotations

import io
from typing import Any

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from pacerail.compose.png import png_bytes


@pytest.mark.parametrize("rows", [1, 2, 391])
@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
def test_a_reader_gets_every_sample_back(rows: int, dtype: type[Any]) -> None:
    random = np.random.default_rng(3)
    wanted = random.integers(0, np.iinfo(dtype).max, (rows, 33, 3), dtype, endpoint=True)
    assert np.array_equal(_read(png_bytes(wanted)), wanted)


def test_what_is_not_stored_in_order_is_written_in_order() -> None:
    upright = np.arange(12 * 20 * 3, dtype=np.uint8).reshape(12, 20, 3)
    assert np.array_equal(_read(png_bytes(np.rot90(upright))), np.rot90(upright))


def test_flat_areas_pack_well() -> None:
    flat = np.full((1080, 1920, 3), 90, np.uint8)
    assert len(png_bytes(flat)) < flat.size / 100


def _read(png: bytes) -> NDArray[Any]:
    with av.open(io.BytesIO(png), "r", format="png_pipe") as container:
        samples: NDArray[Any] = next(container.decode(video=0)).to_ndarray()
    return samples
