import numpy as np
import pytest

from pacerail.detect.blocks import BLOCK_COLUMNS, RunSums
from pacerail.picture import Luma


@pytest.mark.parametrize(("bit_depth", "dtype"), [(8, np.uint8), (10, np.uint16), (12, np.uint16)])
@pytest.mark.parametrize("columns", [16, 47, 320, 1366])
def test_sums_equal_plain_arithmetic(bit_depth: int, dtype: type, columns: int) -> None:
    random = np.random.default_rng(columns)
    top = 2**bit_depth
    a: Luma = random.integers(0, top, (200, columns)).astype(dtype)
    b: Luma = random.integers(0, top, (200, columns)).astype(dtype)
    a[:3], b[:3] = top - 1, 0  # the largest sums there can be
    blocks = columns // BLOCK_COLUMNS
    out = np.empty((200, blocks), np.uint16)
    RunSums(columns, bit_depth).absolute_difference(a, b, out)
    whole = np.abs(a.astype(int) - b)[:, : blocks * BLOCK_COLUMNS]
    np.testing.assert_array_equal(out, whole.reshape(200, blocks, BLOCK_COLUMNS).sum(axis=2))


def test_views_with_padded_rows_are_read_in_place() -> None:
    random = np.random.default_rng(3)
    padded = random.integers(0, 256, (20, 80)).astype(np.uint8)
    a, b = padded[:, :64], padded[::-1, :64]
    out = np.empty((20, 4), np.uint16)
    RunSums(64, 8).absolute_difference(a, b, out)
    expected = np.abs(a.astype(int) - b).reshape(20, 4, 16).sum(axis=2)
    np.testing.assert_array_equal(out, expected)
