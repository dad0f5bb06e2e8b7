from __future__ import annotations

import signal
from pathlib import Path

import pytest

from pacerail.errors import OutputError
from pacerail.pipeline.sheets import prepare
from pacerail.pipeline.workers import processes
from tests.pipeline.edit_sheets import contents, made_here, write_edit
from tests.pipeline.killing import build_cut_short, end_in_passing

# Moments of a build on two idle cores, which takes about four seconds: workers start,
# measure, draw. On a busy machine they fall earlier in it.
MOMENTS_S = (0.3, 1.5, 2.5)


@pytest.fixture(scope="module")
def clean(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    sheet = write_edit(tmp_path_factory.mktemp("clean"))
    made_here(sheet)
    return contents(sheet.parent / "made")


@pytest.mark.parametrize("after_s", MOMENTS_S)
def test_a_killed_build_goes_on_to_what_a_clean_one_makes(
    tmp_path: Path, clean: dict[str, bytes], after_s: float
) -> None:
    sheet = write_edit(tmp_path)
    build_cut_short(sheet, after_s, signal.SIGKILL)
    outcome = made_here(sheet)
    assert not outcome.failures
    assert contents(tmp_path / "made") == clean
    assert made_here(sheet).made == ()


@pytest.mark.parametrize(
    ("number", "status"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)], ids=["INT", "TERM"]
)
def test_an_interrupted_build_leaves_nothing_half_made(
    tmp_path: Path, clean: dict[str, bytes], number: signal.Signals, status: int
) -> None:
    sheet = write_edit(tmp_path)
    # On a fast machine it may have ended, on a slow one be about to, its handlers gone.
    assert build_cut_short(sheet, 1.5, number) in (status, 0, -number)
    made = tmp_path / "made"
    found = contents(made) if made.exists() else {}
    assert found.items() <= clean.items()
    prepared = prepare(sheet)
    for job in prepared.plan.jobs:
        if prepared.is_current(job):
            assert all((made / output).exists() for output in job.outputs)


def test_a_worker_that_is_told_to_end_does_no_other_job() -> None:
    with pytest.raises(OutputError, match="must live until the build ends"), processes(2) as crew:
        crew.executor.submit(end_in_passing).result()


@pytest.mark.parametrize("after_s", [0, 0.15, 0.3])
def test_ctrl_c_on_a_terminal_while_workers_start_is_told_in_silence(
    tmp_path: Path, after_s: float
) -> None:
    sheet = write_edit(tmp_path)
    with (tmp_path / "errors").open("w+b") as errors:
        assert build_cut_short(sheet, after_s, signal.SIGINT, to_all=True, errors=errors) == 130
        errors.seek(0)
        assert errors.read().strip() == b""
