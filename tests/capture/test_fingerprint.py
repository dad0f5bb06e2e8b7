from __future__ import annotations

from pathlib import Path

import pytest

from pacerail.capture.fingerprint import SPAN_BYTES, fingerprint


def write(path: Path, content: bytes) -> Path:
    path.write_bytes(content)
    return path


def test_same_content_under_another_name_has_the_same_fingerprint(tmp_path: Path) -> None:
    content = bytes(range(256)) * 20_000
    assert fingerprint(write(tmp_path / "a", content)) == fingerprint(
        write(tmp_path / "b", content)
    )


@pytest.mark.parametrize("place", [0, SPAN_BYTES - 1, -SPAN_BYTES, -1])
def test_a_changed_byte_at_either_end_changes_it(tmp_path: Path, place: int) -> None:
    content = bytearray(3 * SPAN_BYTES)
    before = fingerprint(write(tmp_path / "a", bytes(content)))
    content[place] ^= 1
    assert fingerprint(write(tmp_path / "a", bytes(content))) != before


def test_length_alone_changes_it(tmp_path: Path) -> None:
    shorter = fingerprint(write(tmp_path / "a", bytes(3 * SPAN_BYTES)))
    longer = fingerprint(write(tmp_path / "b", bytes(3 * SPAN_BYTES + 1)))
    assert shorter != longer


def test_a_small_or_empty_file_has_one_too(tmp_path: Path) -> None:
    empty = fingerprint(write(tmp_path / "a", b""))
    one = fingerprint(write(tmp_path / "b", b"x"))
    assert len(empty) == len(one) == 32
    assert empty != one
