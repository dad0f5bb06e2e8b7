"""Ending a build in the middle, as a person or a machine might."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import time
from pathlib import Path
from typing import IO

from pacerail.pipeline.manifest import FOLDER
from tests.cli.running import COMMAND

# A worker notices that its parent is gone and clears away what it was writing; generous,
# as the machine may be busy.
PATIENCE_S = 30


def build_cut_short(
    sheet: Path,
    after_s: float,
    number: signal.Signals,
    *,
    to_all: bool = False,
    errors: IO[bytes] | int = subprocess.DEVNULL,
) -> int:
    """Start a build with two processes, send its parent a signal, and wait for all to end.

    after_s : from the moment at which the build first writes something.
    to_all : send it to every process, as a terminal does. errors : where they write to.
    Returns the exit status, negative for a build that was killed.
    """
    process = subprocess.Popen(
        [*COMMAND, "build", str(sheet), "--jobs", "2"],
        stdout=subprocess.DEVNULL,
        stderr=errors,
        start_new_session=True,
    )
    while process.poll() is None and not (sheet.parent / "made" / FOLDER).exists():
        time.sleep(0.01)
    with contextlib.suppress(subprocess.TimeoutExpired):
        process.wait(after_s)
    with contextlib.suppress(ProcessLookupError):
        (os.killpg if to_all else os.kill)(process.pid, number)
    status = process.wait(PATIENCE_S)
    wait_until_gone(process.pid)
    return status


class _Last:
    """Ends its process where Python loses what is raised."""

    def __del__(self) -> None:
        os.kill(os.getpid(), signal.SIGTERM)


def end_in_passing() -> str:
    """A job that does not notice that its process was told to end."""
    _Last()
    return "done"


def wait_until_gone(group: int) -> None:
    """Wait for every process of a group. Raises TimeoutError when one stays."""
    deadline = time.monotonic() + PATIENCE_S
    while time.monotonic() < deadline:
        try:
            os.killpg(group, 0)
        except ProcessLookupError:
            return
        time.sleep(0.02)
    raise TimeoutError(f"processes of group {group} stay on")
