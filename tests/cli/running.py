"""Running the command line, in this process and in one of its own."""

from __future__ import annotations

import signal
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import IO

import pytest

from pacerail.cli.main import main

# A shell that starts the tests in its background has Ctrl-C ignored, which children inherit.
COMMAND = (
    sys.executable,
    "-c",
    "import signal; signal.signal(signal.SIGINT, signal.default_int_handler); "
    "from pacerail.cli.main import main; main()",
)


@dataclass(frozen=True)
class Outcome:
    """What a command left behind."""

    status: int
    out: str
    err: str


class Runner:
    """Runs commands in this process, as `pacerail` would."""

    def __init__(self, capsys: pytest.CaptureFixture[str]) -> None:
        self._capsys = capsys

    def __call__(self, *arguments: str | Path) -> Outcome:
        self._capsys.readouterr()
        handler = signal.getsignal(signal.SIGTERM)
        try:
            with pytest.raises(SystemExit) as left:
                main([str(argument) for argument in arguments])
        finally:
            signal.signal(signal.SIGTERM, handler)
        out, err = self._capsys.readouterr()
        assert isinstance(left.value.code, int)
        return Outcome(left.value.code, out, err)


def run_apart(
    *arguments: str | Path,
    prepare: Callable[[], None] | None = None,
    out: IO[bytes] | int = subprocess.PIPE,
    timeout_s: float = 60,
) -> Outcome:
    """Run a command in a process of its own, after `prepare` has run there."""
    result = subprocess.run(
        [*COMMAND, *map(str, arguments)],
        stdout=out,
        stderr=subprocess.PIPE,
        preexec_fn=prepare,
        timeout=timeout_s,
        check=False,
    )
    return Outcome(result.returncode, (result.stdout or b"").decode(), result.stderr.decode())


def names(folder: Path) -> set[str]:
    """Everything in a folder, hidden files too."""
    return {path.name for path in folder.iterdir()}
