from __future__ import annotations

import fcntl
import os
import pty
import signal
import subprocess
import time
from contextlib import suppress
from pathlib import Path

import pytest

import pacerail
from tests.capture.recordings import record_holds
from tests.cli.running import COMMAND, Runner, names, run_apart


def test_version(run: Runner) -> None:
    outcome = run("--version")
    assert (outcome.status, outcome.out) == (0, f"pacerail {pacerail.__version__}\n")


@pytest.mark.parametrize("help_option", ["-h", "--help"])
def test_help_names_the_commands(run: Runner, help_option: str) -> None:
    outcome = run(help_option)
    assert outcome.status == 0
    for command in ("measure", "csv", "strip", "overlay"):
        assert f"\n  {command} " in outcome.out
        assert f"Usage: pacerail {command} [OPTIONS]" in run(command, help_option).out


def test_the_list_of_commands_is_not_cut_short(run: Runner) -> None:
    _, commands = run("--help").out.split("Commands:")
    assert "..." not in commands


def test_no_command_shows_the_help_and_fails(run: Runner) -> None:
    outcome = run()
    assert outcome.status == 2
    assert outcome.err.startswith("Usage: pacerail [OPTIONS] COMMAND")


def test_an_unknown_command_gets_a_hint(run: Runner) -> None:
    outcome = run("mesure")
    assert outcome.status == 2
    assert outcome.err == "Error: No such command 'mesure'. Did you mean 'measure'?\n"


def test_a_missing_argument_is_one_line(run: Runner) -> None:
    outcome = run("measure")
    assert outcome.status == 2
    assert outcome.err == "Error: Missing argument 'CAPTURE'; see pacerail measure --help\n"


def wait_for_part(folder: Path, process: subprocess.Popen[bytes]) -> None:
    """Return once an output is half written."""
    deadline = time.monotonic() + 30
    while not any(".part" in name for name in names(folder)):
        assert process.poll() is None, "the command ended before it could be stopped"
        assert time.monotonic() < deadline
        time.sleep(0.01)


@pytest.mark.parametrize(
    ("number", "status"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)], ids=["ctrl-c", "term"]
)
@pytest.mark.parametrize("alpha", [False, True])
def test_a_stopped_command_leaves_nothing_half_done(
    tmp_path: Path, long_capture: Path, number: signal.Signals, status: int, alpha: bool
) -> None:
    output = tmp_path / ("o.mov" if alpha else "o.mp4")
    request = ["overlay", str(long_capture), "-o", str(output), *(["--alpha"] if alpha else [])]
    with subprocess.Popen([*COMMAND, *request], stderr=subprocess.PIPE) as process:
        wait_for_part(tmp_path, process)
        process.send_signal(number)
        _, err = process.communicate(timeout=20)
    assert process.returncode == status
    assert b"Traceback" not in err
    assert names(tmp_path) == set()


@pytest.fixture(scope="session")
def long_capture(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Long enough to be stopped half way; measured already."""
    path = record_holds(tmp_path_factory.mktemp("long") / "long.mp4", [1] * 1500)
    assert run_apart("measure", path).status == 0
    return path


def test_a_reader_that_has_seen_enough_ends_the_command_quietly(long_capture: Path) -> None:
    record = long_capture.with_suffix(".timing.npz")
    request = [*COMMAND, "csv", str(record), "--table", "refreshes"]
    with subprocess.Popen(request, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        # A pipe that never holds the whole table.
        fcntl.fcntl(process.stdout, fcntl.F_SETPIPE_SZ, 4096)
        process.stdout.readline()
        process.stdout.close()
        assert process.stderr.read() == b""
    assert process.returncode == 1


def test_a_terminal_sees_progress_and_a_pipe_does_not(capture: Path) -> None:
    outcome = run_apart("measure", capture)
    assert (outcome.status, outcome.err) == (0, "")

    controller, terminal = pty.openpty()
    request = [*COMMAND, "measure", str(capture), "--overwrite"]
    with subprocess.Popen(request, stdout=subprocess.PIPE, stderr=terminal) as process:
        os.close(terminal)
        shown = read_terminal(controller)
        out, _ = process.communicate(timeout=60)
    assert "measuring glider.mp4" in shown
    assert "100%" in shown
    assert out.decode() == outcome.out


def read_terminal(controller: int) -> str:
    """Everything shown until the last program has left the terminal."""
    shown = b""
    with open(controller, "rb", buffering=0) as screen, suppress(OSError):
        while part := screen.read(4096):
            shown += part
    return shown.decode()
