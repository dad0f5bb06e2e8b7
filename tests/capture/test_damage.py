"""Files damaged at random: each is refused in one line or read as far as it goes."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from pacerail.capture.open import open_capture
from pacerail.capture.reader import pictures
from pacerail.errors import InputError
from tests.capture.recordings import record

SUFFIXES = (".mp4", ".mkv", ".ts", ".avi")


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """A sound recording in every container."""
    folder = tmp_path_factory.mktemp("whole")
    options = {"preset": "veryfast", "g": "20"}
    return {
        suffix: record(folder / f"a{suffix}", range(60), options=options).read_bytes()
        for suffix in SUFFIXES
    }


def damaged(content: bytes, chance: random.Random) -> bytes:
    """The same file with one of the faults that disks and interrupted copies leave."""
    result = bytearray(content)
    place = chance.randrange(len(result))
    end = min(place + chance.choice([10, 188, 1000, 4000]), len(result))
    kind = chance.choice(["cut", "bits", "hole", "inserted", "repeated", "moved"])
    if kind == "cut":
        del result[place:]
    elif kind == "bits":
        for _ in range(chance.choice([1, 20, 500])):
            result[chance.randrange(len(result))] ^= 1 << chance.randrange(8)
    elif kind == "hole":
        result[place:end] = bytes(end - place)
    elif kind == "inserted":
        result[place:place] = chance.randbytes(end - place)
    elif kind == "repeated":
        result[place:place] = result[place:end]
    else:
        piece = result[place:end]
        del result[place:end]
        target = chance.randrange(len(result) + 1)
        result[target:target] = piece
    return bytes(result)


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize("suffix", SUFFIXES)
def test_damage_never_breaks_the_reader(
    whole: dict[str, bytes], tmp_path: Path, suffix: str, seed: int
) -> None:
    path = tmp_path / f"damaged{suffix}"
    path.write_bytes(damaged(whole[suffix], random.Random(f"{suffix}{seed}")))
    refreshes = refreshes_read(path)
    assert refreshes == sorted(set(refreshes))
    assert all(refresh >= 0 for refresh in refreshes)


def refreshes_read(path: Path) -> list[int]:
    """Refreshes of the pictures that can be had; none where the file is refused."""
    try:
        with open_capture(path) as capture:
            return [picture.refresh for picture in pictures(capture)]
    except InputError:
        return []
