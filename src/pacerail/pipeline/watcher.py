"""How a job tells the outside what it is doing, without printing anything itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager


class Watcher:
    """Told of progress and of things worth knowing; this one keeps them to itself."""

    @contextmanager
    def task(self, name: str, total: int | None) -> Iterator[Callable[[int], None]]:
        """A piece of work; yields what is to be called with the number of steps done so far.

        total : steps in all, None where that is not known.
        """
        yield lambda done: None

    def notice(self, sentence: str) -> None:
        """Something the user should know although the job goes on."""


QUIET = Watcher()
