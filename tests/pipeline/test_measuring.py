from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from demo.encode import Encoding, write_pictures
from demo.simulator import CapturedPicture
from pacerail.errors import InputError, UsageError
from pacerail.pipeline.measuring import (
    MeasureSettings,
    measure,
    measure_or_reuse,
    measure_to_file,
    prospect_of,
    record_path,
)
from pacerail.pipeline.watcher import Watcher
from pacerail.record import Verdict, load_record
from pacerail.region import Region
from tests.capture.recordings import record as make_recording
from tests.capture.recordings import record_holds


class Notebook(Watcher):
    """Keeps all it is told."""

    def __init__(self) -> None:
        self.tasks: list[tuple[str, int | None]] = []
        self.steps: list[int] = []
        self.notices: list[str] = []

    @contextmanager
    def task(self, name: str, total: int | None) -> Iterator[Callable[[int], None]]:
        self.tasks.append((name, total))
        yield self.steps.append

    def notice(self, sentence: str) -> None:
        self.notices.append(sentence)


def test_progress_counts_up_to_the_promise(tmp_path: Path) -> None:
    watcher = Notebook()
    measure(make_recording(tmp_path / "a.mp4", range(50)), watcher=watcher)
    assert watcher.tasks == [("measuring a.mp4", 50)]
    assert watcher.steps == list(range(1, 51))
    assert watcher.notices == []


def test_what_reading_met_is_told_and_kept(tmp_path: Path) -> None:
    watcher = Notebook()
    path = make_recording(tmp_path / "a.mp4", [*range(50), *range(53, 150)])
    record = measure(path, watcher=watcher)
    assert watcher.notices == ["refreshes that the recording lost, counted as capture faults: 3"]
    assert set(watcher.notices) < set(record.notes)
    assert record.notes[0].startswith("refresh rate: 147 time stamps lie")


def test_time_stamps_of_lost_refreshes_lie_where_they_would_have(tmp_path: Path) -> None:
    record = measure(make_recording(tmp_path / "a.mp4", [0, 1, 2, 6, 7, 8, 9, 10]))
    assert len(set(np.diff(record.pts).tolist())) == 1


def test_a_prospect_is_what_measuring_finds(tmp_path: Path) -> None:
    path = make_recording(tmp_path / "a.mkv", range(50), timecode="01:02:03:04")
    prospect, record = prospect_of(path), measure(path)
    assert (prospect.refresh_hz, prospect.refreshes) == (record.refresh_hz, record.refreshes)
    assert prospect.start_timecode == record.start_timecode == "01:02:03:04"


def test_a_given_record_must_be_of_the_capture(tmp_path: Path) -> None:
    first = record_holds(tmp_path / "first.mp4", [2] * 10)
    second = record_holds(tmp_path / "second.mp4", [3] * 10)
    measure_to_file(first)
    assert measure_or_reuse(first, record_path(first)).refreshes == 20
    with pytest.raises(InputError, match=r"record must be of the capture .*second\.mp4"):
        measure_or_reuse(second, record_path(first))


def test_a_renamed_capture_keeps_its_record(tmp_path: Path) -> None:
    path = record_holds(tmp_path / "first.mp4", [2] * 10)
    measure_to_file(path)
    moved = path.rename(tmp_path / "renamed.mp4")
    assert measure_or_reuse(moved, record_path(path)).source.name == "first.mp4"


def test_a_target_is_laid_over_the_record(tmp_path: Path) -> None:
    path = record_holds(tmp_path / "a.mp4", [2] * 10)
    kept = measure_to_file(path, settings=MeasureSettings(target_fps=Fraction(60)))
    again = measure_or_reuse(path, settings=MeasureSettings(target_fps=Fraction(30)))
    assert (kept.target_fps, again.target_fps) == (Fraction(60), Fraction(30))
    assert load_record(record_path(path)).target_fps == 60


def test_a_broken_record_beside_the_capture_is_an_error(tmp_path: Path) -> None:
    path = record_holds(tmp_path / "a.mp4", [2] * 10)
    record_path(path).write_text("mine")
    with pytest.raises(InputError, match=r"record must be a whole \.timing\.npz file"):
        measure_or_reuse(path)
    assert record_path(path).read_text() == "mine"


def test_nothing_is_measured_for_a_place_that_is_taken(tmp_path: Path) -> None:
    path = record_holds(tmp_path / "a.mp4", [2] * 10)
    record_path(path).write_text("mine")
    watcher = Notebook()
    with pytest.raises(UsageError, match="--overwrite"):
        measure_to_file(path, watcher=watcher)
    assert watcher.tasks == []


def test_regions_and_versions_are_kept_with_the_record(tmp_path: Path) -> None:
    path = record_holds(tmp_path / "a.mp4", [2] * 10)
    settings = MeasureSettings(watch=Region(0, 0, 0.5, 1), ignore=(Region(0, 0, 0.25, 0.25),))
    record = measure(path, settings)
    assert record.settings["watch"] == "0,0,0.5,1"
    assert record.settings["ignore"] == ["0,0,0.25,0.25"]
    assert isinstance(record.settings["detector"], int)


def test_cuts_are_on_the_grid_of_the_record(tmp_path: Path) -> None:
    """Lost refreshes keep their places; what is ignored is not cut."""
    views = [np.random.default_rng(seed).integers(30, 200, (9, 16, 1)) for seed in (1, 2)]
    views[1][5:] = views[0][5:]
    grown = [np.kron(view, np.ones((20, 20, 3))).astype(np.uint8) for view in views]
    shown = (CapturedPicture(r, grown[r >= 50]) for r in range(90) if r not in (20, 21))
    path = tmp_path / "a.mp4"
    write_pictures(path, shown, Fraction(60), 90, Encoding(audio=False), overwrite=True)
    record = measure(path)
    assert record.verdict[20] == Verdict.FAULT
    assert record.cut_refresh is not None
    assert record.cut_refresh.tolist() == [50]
    ignored = measure(path, MeasureSettings(ignore=(Region(0, 0, 1, 0.6),)))
    assert ignored.cut_refresh is not None
    assert ignored.cut_refresh.tolist() == []
