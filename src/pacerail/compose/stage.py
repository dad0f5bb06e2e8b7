"""A generator run in its own thread, so that decoding, drawing and encoding overlap."""

from __future__ import annotations

import queue
import threading
from collections.abc import Generator, Iterator
from typing import Generic, TypeVar

Item = TypeVar("Item")

# Pictures waiting between two stages: eight ride out the unevenness of an encoder
# (25 MB at 1080p); more only costs memory. After fewer the decoder still refers to a picture
# that is to be drawn on, and copying it takes as long as drawing. (Measured with three.)
QUEUE_DEPTH = 8
POLL_S = 0.1  # how soon a stage that waits on a full queue notices that it should stop


class _End:
    pass


class Stage(Generic[Item]):
    """Iterate it to get what `source` yields, made ahead in a thread.

    An exception in the source is raised from the iteration. `close` stops the thread and
    closes the source inside it, so a chain of stages ends from its end upwards.
    """

    def __init__(self, source: Generator[Item, None, None], *, depth: int = QUEUE_DEPTH) -> None:
        self._source = source
        self._queue: queue.Queue[Item | _End] = queue.Queue(depth)
        self._stopping = threading.Event()
        self._error: BaseException | None = None
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def __iter__(self) -> Iterator[Item]:
        while not isinstance(item := self._queue.get(), _End):
            yield item
        if self._error is not None:
            raise self._error

    def __enter__(self) -> Stage[Item]:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Stop making items and wait until the source has closed."""
        self._stopping.set()
        self._thread.join()

    def _run(self) -> None:
        try:
            for item in self._source:
                if not self._put(item):
                    break
        except BaseException as error:  # travels to whoever iterates
            self._error = error
        finally:
            self._source.close()
            self._put(_End())

    def _put(self, item: Item | _End) -> bool:
        while not self._stopping.is_set():
            try:
                self._queue.put(item, timeout=POLL_S)
            except queue.Full:
                continue
            return True
        return False
