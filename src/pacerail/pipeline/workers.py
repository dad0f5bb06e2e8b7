"""Who does the jobs: this process, several of its own, or a cluster."""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from multiprocessing.connection import Connection
from multiprocessing.sharedctypes import Synchronized
from types import FrameType
from typing import NoReturn, ParamSpec, TypeVar

from pacerail.errors import OutputError, UsageError
from pacerail.pipeline.telling import share

P = ParamSpec("P")
T = TypeVar("T")

_TERMINATED = 128 + signal.SIGTERM


@dataclass(frozen=True)
class Workers:
    """Who does jobs, and how far they are."""

    executor: Executor
    pictures_done: Callable[[], int] = lambda: 0
    """Pictures that jobs have got through so far, those that go on included, where known."""


class InProcess(Executor):
    """Does everything at once, in the process that asks."""

    def submit(self, fn: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> Future[T]:
        """A future that is done."""
        future: Future[T] = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as error:
            future.set_exception(error)
        return future


class _Pool(ProcessPoolExecutor):
    """Processes that end when they are told to, not when they have nothing left to do."""

    def submit(self, fn: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> Future[T]:
        """A future of the result."""
        # Here processes are started.
        with _without_ctrl_c():
            return super().submit(_until_told, partial(fn, *args, **kwargs))


@contextmanager
def _without_ctrl_c() -> Iterator[None]:
    """Ctrl-C, which a terminal sends to every process, waits for the end of the block.

    Processes that are started in it never see it: what is blocked here stays so in them.
    """
    met: list[int] = []
    handler = signal.signal(signal.SIGINT, lambda number, _: met.append(number))
    blocked = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, blocked)
        signal.signal(signal.SIGINT, handler)
        if met:
            signal.raise_signal(signal.SIGINT)


@contextmanager
def processes(jobs: int) -> Iterator[Workers]:
    """So many processes, or this one alone if that is 1.

    They end with the block, at once if it raises, and with this process however it ends;
    what they were writing is cleared away.
    Raises OutputError when one of them is killed from outside.
    """
    if jobs == 1:
        yield Workers(InProcess())
        return
    # A fresh interpreter each: threads and open files of this one are not copied.
    context = multiprocessing.get_context("spawn")
    theirs, ours = context.Pipe(duplex=False)
    done = context.Value("q", 0)
    pool = _Pool(jobs, context, _start, (theirs, done))
    try:
        yield Workers(pool, lambda: done.value)
    except BrokenProcessPool as error:
        raise OutputError(
            "worker processes must live until the build ends, got one that was killed; "
            "free some memory or pass fewer --jobs, and build again"
        ) from error
    except BaseException:
        ours.close()
        raise
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
        ours.close()


@contextmanager
def cluster(address: str) -> Iterator[Workers]:
    """The workers of a Dask cluster that see the same files under the same paths.

    Raises UsageError when the package for it is missing or nobody answers.
    """
    try:
        from distributed import Client
    except ImportError as error:
        raise UsageError(
            f"--scheduler must find the package distributed, got {error}; "
            "type: pip install 'pacerail[cluster]'"
        ) from error
    try:
        client = Client(address)
    except (OSError, ValueError, TypeError) as error:
        raise UsageError(
            f"scheduler must answer, got {address}: {error}; "
            "write for example tcp://host:8786 and check that it runs"
        ) from error
    with client, client.get_executor() as executor:
        yield Workers(executor)


def _start(lifeline: Connection, done: Synchronized[int]) -> None:
    """In a worker: end when the parent does, count pictures in `done`."""
    share(done)
    signal.signal(signal.SIGTERM, _terminate)
    threading.Thread(target=_end_with_parent, args=(lifeline,), daemon=True).start()


def _end_with_parent(lifeline: Connection) -> None:
    """Nothing is ever sent: the pipe only ends, when the parent closes it or is gone."""
    lifeline.poll(None)
    os.kill(os.getpid(), signal.SIGTERM)


_is_at_work = _is_told_to_end = False
"""In a worker: whether a job goes on, which may have something to clear away; whether it is
the last."""


def _until_told(work: Callable[[], T]) -> T:
    """In a worker: the result of a job; the end of the process if it has been told to end.

    The pool would take the exception for a result and hand out the next job; and where it is
    raised in what Python calls by the way, such as a weak reference's callback, it is lost.
    """
    global _is_at_work
    _is_at_work = True
    try:
        return work()
    finally:
        _is_at_work = False
        if _is_told_to_end:
            os._exit(_TERMINATED)


def _terminate(number: int, _: FrameType | None) -> NoReturn:
    """Leave at once, or by an exception, once, so that unfinished outputs are cleared away."""
    global _is_told_to_end
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    _is_told_to_end = True
    if not _is_at_work:
        os._exit(_TERMINATED)
    sys.exit(_TERMINATED)
