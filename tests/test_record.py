from __future__ import annotations

import time
import zipfile
from dataclasses import fields, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings

from pacerail.errors import InputError, UsageError
from pacerail.record import TimingRecord, Verdict, load_record
from tests.timing_records import record_of_flips, records

COLUMNS = (
    *("pts", "verdict", "score", "margin"),
    *("flip_refresh", "tear_row", "unseen_row", "cut_refresh"),
)


def assert_same(first: TimingRecord, second: TimingRecord) -> None:
    for field in fields(TimingRecord):
        if field.name in COLUMNS:
            np.testing.assert_array_equal(getattr(first, field.name), getattr(second, field.name))
        else:
            assert getattr(first, field.name) == getattr(second, field.name), field.name


def take_out(path: Path, column: str) -> None:
    """Make a record one of a time when the column was not known."""
    with zipfile.ZipFile(path) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    del members[f"{column}.npy"]
    with zipfile.ZipFile(path, "w") as archive:
        for name, content in members.items():
            archive.writestr(name, content)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=30)
@given(records())
def test_a_saved_record_reads_back_as_it_was(tmp_path: Path, record: TimingRecord) -> None:
    record.save(tmp_path / "a.timing.npz", overwrite=True)
    assert_same(load_record(tmp_path / "a.timing.npz"), record)


def test_everything_in_the_header_reads_back(tmp_path: Path) -> None:
    record = record_of_flips(
        [3, 5],
        10,
        [0, 540.25],
        refresh_hz=Fraction(60_000, 1001),
        target_fps=Fraction(30_000, 1001),
        settings={"ignore": ["0,0,0.1,0.1"]},
        notes=("one", "zwei ä"),
        start_timecode="01:00:00;00",
    )
    record.save(tmp_path / "a.timing.npz", overwrite=False)
    assert_same(load_record(tmp_path / "a.timing.npz"), record)


def test_columns_cannot_be_written_to() -> None:
    record = record_of_flips([3], 10, cut_refresh=np.array([3]))
    for name in COLUMNS:
        with pytest.raises(ValueError, match="read-only"):
            getattr(record, name)[0] = 1


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"pts": np.arange(9)}, "verdict must be uint8 of length 9"),
        ({"score": np.zeros(10)}, "score must be float32 of length 10"),
        ({"tear_row": np.zeros(3)}, "tear_row must be float64 of length 2"),
        ({"tear_row": np.array([0.0, 1080.0])}, r"tear rows must lie in \[0, 1080\)"),
        ({"tear_row": np.array([0.0, -1.0])}, "tear rows must lie in"),
        ({"unseen_row": np.array([0.0, 1080.0])}, "tear rows must lie in"),
        ({"unseen_row": np.array([0.0, -1080.0])}, "unseen rows must lie in"),
        ({"tear_row": np.array([0, 9.0]), "unseen_row": np.array([0, 9.0])}, "where a tear shows"),
        ({"flip_refresh": np.array([5, 3])}, "flips must be in order of time"),
        ({"unseen_row": np.array([1000.0, -200]), "flip_refresh": np.array([4, 5])}, "in order"),
        ({"flip_refresh": np.array([3, 10])}, "flips must lie in refreshes"),
        ({"flip_refresh": np.array([3, 6])}, "new exactly where a flip falls"),
        ({"verdict": np.full(10, 4, np.uint8)}, "verdict holds an unknown value"),
        ({"cut_refresh": np.zeros(2)}, "cut_refresh must be int64"),
        ({"cut_refresh": np.array([3, 3])}, "cuts must be in order of time"),
        ({"cut_refresh": np.array([3, 10])}, r"cuts must lie in refreshes \[0, 10\)"),
        ({"refresh_hz": Fraction(0)}, "positive rates"),
    ],
)
def test_columns_that_contradict_each_other_are_refused(
    changes: dict[str, Any], words: str
) -> None:
    record = record_of_flips([3, 5], 10)
    with pytest.raises(ValueError, match=words):
        replace(record, **changes)


def test_two_flips_in_one_refresh_must_come_down_the_picture() -> None:
    record_of_flips([3, 3], 10, [100.0, 900.0])
    with pytest.raises(ValueError, match="in order of time"):
        record_of_flips([3, 3], 10, [900.0, 100.0])


def test_a_record_of_a_time_without_cuts_loads_and_says_so(tmp_path: Path) -> None:
    path = tmp_path / "a.timing.npz"
    record_of_flips([3], 10, cut_refresh=np.empty(0, np.int64)).save(path, overwrite=False)
    assert load_record(path).unknown == ()
    take_out(path, "cut_refresh")
    older = load_record(path)
    assert older.cut_refresh is None
    assert older.unknown == (
        "cuts were not looked for when the record of harbour.mkv was made; "
        "measure the capture again to have them",
    )


def test_a_record_of_a_time_without_unseen_rows_has_none(tmp_path: Path) -> None:
    path = tmp_path / "a.timing.npz"
    record_of_flips([3, 5], 10, unseen_row=np.array([0.0, 99.0])).save(path, overwrite=False)
    take_out(path, "unseen_row")
    assert load_record(path).unseen_row.tolist() == [0, 0]


def test_only_judged_refreshes_can_be_uncertain() -> None:
    thin = np.full(10, 0.1, np.float32)
    record = record_of_flips([3], 10, faults=[6], firsts=[7], margin=thin)
    assert np.flatnonzero(record.uncertain).tolist() == [1, 2, 3, 4, 5, 8, 9]
    assert not record_of_flips([3], 10).uncertain.any()


def test_an_existing_record_is_kept_unless_told_otherwise(tmp_path: Path) -> None:
    path = tmp_path / "a.timing.npz"
    record_of_flips([3], 10).save(path, overwrite=False)
    with pytest.raises(UsageError, match="--overwrite"):
        record_of_flips([4], 10).save(path, overwrite=False)
    assert load_record(path).flip_refresh.tolist() == [3]


def damaged(path: Path, kind: str) -> Path:
    if kind == "missing":
        path.unlink()
    elif kind == "folder":
        path.unlink()
        path.mkdir()
    elif kind == "empty":
        path.write_bytes(b"")
    elif kind == "text":
        path.write_text("no record")
    elif kind == "cut":
        path.write_bytes(path.read_bytes()[:-200])
    elif kind == "bit":
        content = bytearray(path.read_bytes())
        content[len(content) // 2] ^= 0xFF
        path.write_bytes(content)
    elif kind == "array":
        with path.open("wb") as stream:
            np.save(stream, np.arange(3))
    elif kind == "other archive":
        np.savez(path, values=np.arange(3))
    elif kind == "pickle":
        np.savez(path, header=np.array([{"format": 1}], dtype=object))
    elif kind == "column missing":
        with zipfile.ZipFile(path) as archive:
            members = {name: archive.read(name) for name in archive.namelist()}
        with zipfile.ZipFile(path, "w") as archive:
            for name, content_of in members.items():
                if name != "pts.npy":
                    archive.writestr(name, content_of)
    return path


@pytest.mark.parametrize(
    "kind",
    [
        "missing",
        "folder",
        "empty",
        "text",
        "cut",
        "bit",
        "array",
        "other archive",
        "pickle",
        "column missing",
    ],
)
def test_what_is_no_whole_record_is_refused_in_one_line(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "a.timing.npz"
    record_of_flips(range(1, 3000), 4000).save(path, overwrite=False)
    with pytest.raises(InputError, match="record must be") as caught:
        load_record(damaged(path, kind))
    assert str(path) in str(caught.value)
    assert "\n" not in str(caught.value)


def test_three_hours_stay_small_and_load_fast(tmp_path: Path) -> None:
    path = tmp_path / "long.timing.npz"
    n = 3 * 3600 * 60
    record = record_of_flips(range(1, n), n)
    assert int((record.verdict == Verdict.NEW).sum()) == n - 1
    record.save(path, overwrite=False)
    assert path.stat().st_size < 30e6
    start = time.perf_counter()
    load_record(path)
    assert time.perf_counter() - start < 1.0


@pytest.mark.parametrize(
    ("name", "advice"),
    [("a.mp4", "name the .timing.npz file"), ("a.timing.npz", "measure the capture again")],
)
def test_something_else_than_a_record_is_said_to_be(tmp_path: Path, name: str, advice: str) -> None:
    path = tmp_path / name
    path.write_bytes(b"\0\0\0\x20ftypisom")
    with pytest.raises(InputError, match=advice):
        load_record(path)
