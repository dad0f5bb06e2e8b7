from __future__ import annotations

import threading
import time
from collections.abc import Generator

import pytest

from pacerail.compose.stage import Stage


def count_to(end: int, closed: list[str] | None = None) -> Generator[int, None, None]:
    try:
        yield from range(end)
    finally:
        if closed is not None:
            closed.append("source")


def doubled(stage: Stage[int], closed: list[str]) -> Generator[int, None, None]:
    try:
        for number in stage:
            yield 2 * number
    finally:
        closed.append("doubled")


def test_items_come_in_order_through_a_chain() -> None:
    closed: list[str] = []
    with Stage(count_to(500, closed)) as first, Stage(doubled(first, closed)) as second:
        assert list(second) == list(range(0, 1000, 2))
    assert sorted(closed) == ["doubled", "source"]


def test_an_exception_travels_with_its_place() -> None:
    def broken() -> Generator[int, None, None]:
        yield 1
        raise KeyError("broken source")

    with (
        Stage(broken()) as first,
        Stage(doubled(first, [])) as second,
        pytest.raises(KeyError, match="broken source") as caught,
    ):
        list(second)
    assert "broken" in [entry.name for entry in caught.traceback]


def test_leaving_early_closes_every_stage_and_leaves_no_thread() -> None:
    before = threading.active_count()
    closed: list[str] = []
    with Stage(count_to(10**9, closed)) as first, Stage(doubled(first, closed)) as second:
        assert next(iter(second)) == 0
    assert closed == ["doubled", "source"]
    assert threading.active_count() == before


def test_the_source_runs_ahead_only_by_the_depth() -> None:
    made: list[int] = []

    def watched() -> Generator[int, None, None]:
        for number in range(100):
            made.append(number)
            yield number

    with Stage(watched(), depth=3) as stage:
        items = iter(stage)
        next(items)
        deadline = time.monotonic() + 5
        while len(made) < 5 and time.monotonic() < deadline:
            time.sleep(0.01)
        time.sleep(0.05)
        # Three wait in the queue, one was taken, one is held by the thread.
        assert len(made) == 5
