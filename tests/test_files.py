from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from pacerail.errors import OutputError, UsageError
from pacerail.files import atomic_output, check_writable


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_the_output_appears_whole_and_alone(tmp_path: Path) -> None:
    with atomic_output(tmp_path / "a.txt", overwrite=False) as part:
        part.write_text("half")
        assert part.suffix == ".txt"
        assert names(tmp_path) == {part.name}
        part.write_text("whole")
    assert names(tmp_path) == {"a.txt"}
    assert (tmp_path / "a.txt").read_text() == "whole"


def test_a_folder_can_be_an_output(tmp_path: Path) -> None:
    with atomic_output(tmp_path / "pictures", overwrite=False) as part:
        part.mkdir()
        (part / "0001.png").touch()
    assert names(tmp_path / "pictures") == {"0001.png"}


def write_and_fail(path: Path, failure: BaseException, *, folder: bool = False) -> None:
    """Get half way with an output, replacing what is there, then fail."""
    with atomic_output(path, overwrite=True) as part:
        if folder:
            part.mkdir()
            part /= "0001.png"
        part.write_text("half")
        raise failure


@pytest.mark.parametrize("failure", [ValueError(), KeyboardInterrupt(), SystemExit()])
def test_a_failure_leaves_everything_as_it_was(tmp_path: Path, failure: BaseException) -> None:
    path = tmp_path / "a.txt"
    path.write_text("before")
    with pytest.raises(type(failure)):
        write_and_fail(path, failure)
    assert names(tmp_path) == {"a.txt"}
    assert path.read_text() == "before"


def test_a_failure_clears_a_half_filled_folder(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="stop"):
        write_and_fail(tmp_path / "pictures", ValueError("stop"), folder=True)
    assert names(tmp_path) == set()


def test_a_full_disk_is_one_line(tmp_path: Path) -> None:
    full = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    with pytest.raises(OutputError, match=r"output must be writable.*No space left") as caught:
        write_and_fail(tmp_path / "a.txt", full)
    assert "\n" not in str(caught.value)
    assert names(tmp_path) == set()


def test_an_output_error_from_inside_stays_itself(tmp_path: Path) -> None:
    with pytest.raises(OutputError) as caught:
        write_and_fail(tmp_path / "a.txt", OutputError("as it is"))
    assert str(caught.value) == "as it is"


def test_what_exists_is_kept_unless_told_otherwise(tmp_path: Path) -> None:
    path = tmp_path / "a.txt"
    path.write_text("before")
    with pytest.raises(UsageError, match="pass --overwrite"):
        check_writable(path, overwrite=False)
    check_writable(path, overwrite=True)
    with atomic_output(path, overwrite=True) as part:
        part.write_text("after")
    assert path.read_text() == "after"


@pytest.mark.parametrize("overwrite", [False, True])
def test_places_that_cannot_hold_a_file(tmp_path: Path, overwrite: bool) -> None:
    with pytest.raises(OutputError, match="output folder must exist"):
        check_writable(tmp_path / "none" / "a.txt", overwrite=overwrite)
    with pytest.raises(OutputError, match="output must be a file, got the folder"):
        check_writable(tmp_path, overwrite=overwrite)
