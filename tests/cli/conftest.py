from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from pacerail.pipeline.measuring import measure_to_file
from tests.capture.recordings import record_holds
from tests.cli.running import Runner


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Runner:
    return Runner(capsys)


@pytest.fixture(scope="session")
def measured(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A capture of two seconds at 60 Hz that shows 30 frames a second, and its record."""
    path = record_holds(tmp_path_factory.mktemp("captures") / "glider.mp4", [2] * 60)
    measure_to_file(path)
    return path


@pytest.fixture
def capture(measured: Path, tmp_path: Path) -> Path:
    """A copy of that capture, alone in a folder."""
    return Path(shutil.copy(measured, tmp_path / "glider.mp4"))


@pytest.fixture
def record(measured: Path, capture: Path) -> Path:
    """A copy of its record, beside it."""
    return Path(shutil.copy(measured.with_suffix(".timing.npz"), capture.parent))
