"""Bars and places on their own clock, found in captures made for the purpose."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from numpy.typing import NDArray

from pacerail.detect.detector import DetectorSettings, detect
from pacerail.picture import Picture
from pacerail.record import Verdict
from pacerail.region import Region

ROWS, COLUMNS = 270, 480
TEXTURE = np.random.default_rng(5).integers(40, 200, (ROWS, 4 * COLUMNS), np.uint8)


def film(*, blinks: bool, moves: bool = True, bars: int = 0) -> Iterator[Picture]:
    """Two seconds: a pan for the first, nothing for the second; a badge if it blinks."""
    for refresh in range(120):
        step = min(refresh, 60) if moves else 0
        luma: NDArray[np.uint8] = TEXTURE[:, 4 * step : 4 * step + COLUMNS].copy()
        if bars:
            luma[:bars] = luma[-bars:] = 16
        if blinks and refresh // 7 % 2:
            luma[200:216, 400:432] = 235
        yield Picture(refresh, refresh, luma, 8, "P", False)


def test_a_badge_that_blinks_over_a_pause_is_reported_and_can_be_left_out() -> None:
    detection = detect(film(blinks=True), DetectorSettings())
    notes = [note for note in detection.notes if "--ignore" in note]
    assert len(notes) == 1
    region = Region.parse(notes[0].split("--ignore ")[1])
    rows, columns = region.slices(ROWS, COLUMNS)
    assert rows.start <= 200 < 216 <= rows.stop
    assert columns.start <= 400 < 432 <= columns.stop
    assert region.width * region.height < 0.03
    without = detect(film(blinks=True), DetectorSettings(ignore=(region,)))
    assert (without.verdict[61:] == Verdict.HELD).all()
    assert (detection.verdict[61:] == Verdict.NEW).sum() == 9


def test_inside_a_watched_region_the_place_is_told_in_the_whole_picture() -> None:
    watch = Region(0.5, 0.5, 0.5, 0.5)
    detection = detect(film(blinks=True), DetectorSettings(watch=watch))
    (note,) = [note for note in detection.notes if "--ignore" in note]
    rows, columns = Region.parse(note.split("--ignore ")[1]).slices(ROWS, COLUMNS)
    assert rows.start <= 200 < 216 <= rows.stop
    assert columns.start <= 400 < 432 <= columns.stop


def test_a_watched_region_may_be_one_block_in_size() -> None:
    detection = detect(film(blinks=False), DetectorSettings(watch=Region(0, 0, 0.01, 0.01)))
    assert (detection.verdict[1:61] == Verdict.NEW).all()
    assert not detection.tear_row.any()


@pytest.mark.parametrize("moves", [True, False])
def test_no_place_is_reported_where_none_keeps_its_own_time(moves: bool) -> None:
    assert not detect(film(blinks=False, moves=moves), DetectorSettings()).notes


def test_letterbox_bars_are_found_and_a_full_picture_has_none() -> None:
    (note,) = detect(film(blinks=False, bars=30), DetectorSettings()).notes
    assert "fills rows 30 to 240 of 270" in note
