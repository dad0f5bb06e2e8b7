"""The commands of README.md run as they stand, on the captures of the demo."""

from __future__ import annotations

import re
import shlex
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from demo.make import make
from demo.platforms import PLATFORMS
from tests.cli.running import Runner

ROOT = Path(__file__).parent.parent
SIZE = 320, 180


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """What `demo/run` leaves behind, at a small size, as the current folder."""
    place = tmp_path_factory.mktemp("demo")
    for platform in PLATFORMS:
        make(platform, place, SIZE)
    shutil.copy(ROOT / "demo" / "harbour.toml", place)
    # What it makes of them, which no command of the README may run into.
    script = (ROOT / "demo" / "run").read_text("utf-8")
    suffixes = [".timing.npz", *re.findall(r'-o "\$name(\.[^"]+)"', script)]
    assert len(suffixes) > 5
    for stem in (platform.label.lower() for platform in PLATFORMS):
        for suffix in suffixes:
            (place / f"{stem}{suffix}").touch()
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(place)
        yield place


def commands() -> list[str]:
    """Lines of every block that is marked as tried."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    blocks = re.findall(r"<!-- tried -->\n```\n(.*?)```", text, flags=re.DOTALL)
    return [line for block in blocks for line in block.splitlines()]


def test_every_command_of_the_readme_runs(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines = commands()
    assert len(lines) > 15
    for line in lines:
        program, *arguments = shlex.split(line)
        assert program == "pacerail"
        outcome = Runner(capsys)(*arguments)
        assert outcome.status == 0, f"{line}\n{outcome.err}"
        if "-o" in arguments:
            assert (folder / arguments[arguments.index("-o") + 1]).exists(), line


def test_every_picture_and_page_that_the_readme_shows_is_there() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    targets = re.findall(r"\]\(([^)#:]+)\)", text)
    assert targets
    for target in targets:
        assert (ROOT / target).exists(), target
