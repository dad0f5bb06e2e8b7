"""What commands show while they work: a progress bar on a terminal, notices, nothing else."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

from pacerail.pipeline.watcher import Watcher

if TYPE_CHECKING:
    from click._termui_impl import ProgressBar

    from pacerail.record import TimingRecord

# Redrawing a bar more often than this many times over a task only costs time.
_DRAWINGS = 400
# Steps assumed between two drawings where the length of a task is not known.
_STEPS_UNKNOWN = 30


class TerminalWatcher(Watcher):
    """Shows progress with the time left when standard error is a terminal, else nothing.

    Notices are lines of their own on standard error, on a terminal or not.
    """

    @contextmanager
    def task(self, name: str, total: int | None) -> Iterator[Callable[[int], None]]:
        """A bar while the task lasts."""
        if not sys.stderr.isatty():
            yield lambda done: None
            return
        done_before = 0
        bar: ProgressBar[int] = click.progressbar(
            length=total,
            label=name,
            file=sys.stderr,
            update_min_steps=max(total // _DRAWINGS, 1) if total else _STEPS_UNKNOWN,
        )
        with bar:

            def advance(done: int) -> None:
                nonlocal done_before
                bar.update(done - done_before)
                done_before = done

            yield advance

    def notice(self, sentence: str) -> None:
        """One line on standard error."""
        click.echo(f"Note: {sentence}", err=True)


def tell_unknown(records: Iterable[TimingRecord]) -> None:
    """Notices of what records do not know, for commands that list what happened."""
    watcher = TerminalWatcher()
    for record in records:
        for sentence in record.unknown:
            watcher.notice(sentence)
