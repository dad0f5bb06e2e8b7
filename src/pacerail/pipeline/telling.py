"""What a worker tells the build it works for: how far it is, and what is worth knowing."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from multiprocessing.sharedctypes import Synchronized

from pacerail.pipeline.watcher import Watcher

_shared: Synchronized[int] | None = None
"""In a worker process: pictures done by all of them, shared with the build."""


def share(counter: Synchronized[int]) -> None:
    """Let this process count what it does there."""
    global _shared  # a pool hands things to its processes in no other way
    _shared = counter


class Telling(Watcher):
    """Counts pictures for the build, if it listens, and keeps notices until the job is done.

    pictures : what the whole job counts for.
    """

    def __init__(self, pictures: int) -> None:
        self._pictures = pictures
        self._told = 0
        self.notices: list[str] = []

    @contextmanager
    def task(self, name: str, total: int | None) -> Iterator[Callable[[int], None]]:
        """Passes on which share of the task is done."""
        yield lambda done: self._tell(self._pictures * min(done, total) // total if total else 0)

    def notice(self, sentence: str) -> None:
        """Kept for the build."""
        self.notices.append(sentence)

    def finish(self) -> None:
        """The job is done, whatever its tasks were."""
        self._tell(self._pictures)

    def _tell(self, pictures: int) -> None:
        if _shared is not None and pictures > self._told:
            with _shared.get_lock():
                _shared.value += pictures - self._told
            self._told = pictures
