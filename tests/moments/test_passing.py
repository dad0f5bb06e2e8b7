"""Cuts in pictures that pass by: sizes, depths, regions, and the sketches behind them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from pacerail.moments.passing import PassingCuts
from pacerail.moments.scene import Scenes, row_differences
from pacerail.moments.sketch import ROWS, Sketch, Sketcher
from pacerail.picture import Luma, Picture
from pacerail.region import Region

HZ = Fraction(60)


def view(seed: int, rows: int = 180, columns: int = 320) -> NDArray[np.uint8]:
    """Smooth texture with structure at several scales."""
    random = np.random.default_rng(seed)
    down, across = np.mgrid[:rows, :columns] / rows
    total = np.full((rows, columns), random.uniform(90, 150))
    for scale in (12, 27, 51):
        phase, turn = random.uniform(0, 6.3, 2)
        total += 14 * np.sin((across * np.cos(turn) + down * np.sin(turn)) * scale + phase)
    grey: NDArray[np.uint8] = np.clip(total, 0, 255).astype(np.uint8)
    return grey


def shown(lumas: Sequence[Luma], bit_depth: int = 8) -> Iterator[Picture]:
    for refresh, luma in enumerate(lumas):
        yield Picture(refresh, refresh, luma, bit_depth, "P", is_corrupt=False)


def found(pictures: Iterator[Picture], watch: Region | None = None, *ignore: Region) -> list[int]:
    cuts = PassingCuts(HZ, watch, ignore)
    refreshes = [picture.refresh for picture in cuts.watched(pictures)]
    assert refreshes == sorted(refreshes)
    return [int(refresh) for refresh in cuts.refreshes]


def test_pictures_pass_by_as_they_are_and_one_at_a_time() -> None:
    given_pictures = list(shown([view(1)] * 5))
    assert list(PassingCuts(HZ).watched(iter(given_pictures))) == given_pictures
    passing = PassingCuts(HZ).watched(iter(given_pictures))
    assert next(passing) is given_pictures[0]


@pytest.mark.parametrize("bit_depth", [8, 10, 12])
def test_depth_makes_no_difference(bit_depth: int) -> None:
    lumas = [view(1)] * 40 + [view(2)] * 120 + [view(3)] * 40
    deep = [(luma * np.uint16(1 << (bit_depth - 8))).astype(np.uint16) for luma in lumas]
    assert found(shown(lumas) if bit_depth == 8 else shown(deep, bit_depth)) == [40, 160]


def test_a_change_of_size_starts_anew() -> None:
    lumas = [view(1)] * 40 + [view(2)] * 40 + [view(3, 240, 426)] * 40 + [view(4, 240, 426)] * 40
    assert found(shown(lumas)) == [40, 120]


def test_only_what_is_watched_and_not_ignored_is_cut() -> None:
    inset = Region(0.75, 0.5, 0.25, 0.5)
    lumas = [view(1) for _ in range(120)]
    for luma in lumas[60:]:
        luma[inset.slices(*luma.shape)] = view(2)[inset.slices(*luma.shape)]
    assert found(shown(lumas)) == [60]
    assert found(shown(lumas), None, inset) == []
    assert found(shown(lumas), inset) == [60]
    assert found(shown(lumas), Region(0, 0, 0.7, 1)) == []


@pytest.mark.parametrize(("length", "codes"), [(60, 2), (90, 4), (120, 3), (120, 4)])
def test_steps_of_a_fade_are_no_cuts(length: int, codes: int) -> None:
    """Eased, and coded only where the light has changed by so many codes: few steps, far apart."""
    full = view(1).astype(np.float64) - 16
    ramp = np.clip(np.arange(-40, length + 30) / length, 0, 1)
    lumas, coded = [], 0.0
    for share in ramp * ramp * (3 - 2 * ramp):
        if abs(share - coded) * full.mean() >= codes or share == 1:
            coded = share
        lumas.append((16 + full * coded).astype(np.uint8))
    assert found(shown(lumas)) == []
    assert found(shown(lumas[::-1])) == []


@pytest.mark.parametrize("row", [30, 90, 150])
@pytest.mark.parametrize("moving", [0, 3])
def test_a_torn_cut_starts_where_it_first_shows(row: int, moving: int) -> None:
    """Free of sync, the refresh before may be torn as well, by motion alone."""
    wide = [view(seed, columns=1000) for seed in (1, 2)]

    def seen(refresh: int, seed: int) -> NDArray[np.uint8]:
        return wide[seed][:, moving * refresh : moving * refresh + 320]

    lumas = [seen(refresh, int(refresh > 60)) for refresh in range(120)]
    lumas[60] = np.concatenate([seen(60, 0)[:row], seen(60, 1)[row:]])
    lumas[59] = np.concatenate([seen(58, 0)[:170], seen(59, 0)[170:]])
    assert found(shown(lumas)) == [60]


SIZES: list[tuple[int, int]] = [(1080, 1920), (720, 1280), (486, 720), (144, 256), (40, 24)]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("code", [0, 77, 255])
def test_a_plain_picture_has_a_plain_sketch(size: tuple[int, int], code: int) -> None:
    luma = np.full(size, code, np.uint8)
    sketch = Sketcher(luma, 8).take(luma)
    assert sketch.shape[0] == ROWS
    assert (sketch == code).all()


@pytest.mark.parametrize("size", SIZES[:4])
def test_rows_and_columns_of_a_sketch_lie_where_those_of_the_picture_do(
    size: tuple[int, int],
) -> None:
    rows, columns = size
    for axis, length in ((0, rows), (1, columns)):
        ramp = np.arange(length) * 256 // length
        luma = np.broadcast_to(ramp[:, None] if axis == 0 else ramp, size).astype(np.uint8)
        means = Sketcher(luma, 8).take(luma).mean(axis=1 - axis)
        place = (np.arange(len(means)) + 0.5) / len(means)
        # A cell reads lines up to half a cell from its middle; sides may be left out.
        assert np.abs(means / 256 - place).max() < (0.03 if axis == 0 else 0.1)


def test_a_cell_reads_every_part_across_it() -> None:
    """A line as thin as a fortieth of the picture shows wherever it stands."""
    luma = np.zeros((1080, 1920), np.uint8)
    sketcher = Sketcher(luma, 8)
    for left in range(24, 1800, 7):
        luma[:] = 0
        luma[:, left : left + 48] = 240
        light = sketcher.take(luma).mean(axis=0).sum() / 240
        # As many cells' worth as it is wide, a cell being eight samples seven columns apart.
        assert light == pytest.approx(48 / (8 * 7), rel=0.2)


sketches = st.integers(0, 2**32 - 1).map(
    lambda seed: np.random.default_rng(seed).integers(0, 256, (ROWS, 32), np.uint8)
)


@given(sketches, sketches)
def test_difference_is_symmetric_and_less_than_that_of_cells(one: Sketch, other: Sketch) -> None:
    scenes = Scenes.of([one, other])
    there, back = row_differences(scenes[0], scenes[1]), row_differences(scenes[1], scenes[0])
    np.testing.assert_array_equal(there, back)
    assert (row_differences(scenes[0], scenes[0]) == 0).all()
    plain = np.abs(one.astype(int) - other.astype(int)).mean(axis=1)
    assert (there <= plain + 1e-3).all()


MOVES: list[Callable[[Sketch], Sketch]] = [
    lambda sketch: np.roll(sketch, 1, axis=0),
    lambda sketch: np.roll(sketch, -3, axis=0),
    lambda sketch: np.roll(sketch, 1, axis=1),
]


@pytest.mark.parametrize("move", MOVES)
def test_what_moved_by_a_cell_or_a_few_rows_is_no_difference(
    move: Callable[[Sketch], Sketch],
) -> None:
    sketch = np.random.default_rng(3).integers(0, 256, (ROWS, 32), np.uint8)
    scenes = Scenes.of([sketch, move(sketch)])
    assert row_differences(scenes[0], scenes[1])[4:-4].max() < 0.05 * 256
