from __future__ import annotations

from pathlib import Path

import av
import numpy as np
import pytest

from tests.cli.running import Runner


def read_png(path: Path) -> np.ndarray:
    with av.open(str(path)) as container:
        return next(container.decode(video=0)).to_ndarray(format="rgba")


def test_a_strip_is_a_picture_with_something_on_it(
    run: Runner, record: Path, tmp_path: Path
) -> None:
    outcome = run("strip", record, "-o", tmp_path / "strip.png")
    assert (outcome.status, outcome.out, outcome.err) == (0, "", "")
    picture = read_png(tmp_path / "strip.png")
    assert len(np.unique(picture.reshape(-1, 4), axis=0)) > 20


def test_the_label_and_the_segment_change_the_picture(
    run: Runner, record: Path, tmp_path: Path
) -> None:
    pictures = []
    for number, options in enumerate([[], ["--label", "Wren"], ["--from", "1", "--to", "1.5"]]):
        path = tmp_path / f"{number}.png"
        assert run("strip", record, *options, "-o", path).status == 0
        pictures.append(path.read_bytes())
    assert len(set(pictures)) == 3


@pytest.mark.parametrize(
    ("suffix", "start"), [(".png", b"\x89PNG"), (".svg", b"<?xml"), (".pdf", b"%PDF-")]
)
def test_the_name_decides_the_format(
    run: Runner, record: Path, tmp_path: Path, suffix: str, start: bytes
) -> None:
    path = tmp_path / f"strip{suffix}"
    assert run("strip", record, "-o", path).status == 0
    assert path.read_bytes().startswith(start)


def test_another_format_is_refused(run: Runner, record: Path, tmp_path: Path) -> None:
    outcome = run("strip", record, "-o", tmp_path / "strip.gif")
    assert outcome.status == 2
    assert outcome.err.startswith("Error: drawing must be a file named .png, .svg, .pdf, got")
    assert not (tmp_path / "strip.gif").exists()
