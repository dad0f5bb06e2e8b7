"""Finished drawings kept for as long as they are likely to be asked for again."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

Value = TypeVar("Value")


class Recent(Generic[Value]):
    """The `size` values used last; the one unused for longest makes room."""

    def __init__(self, size: int) -> None:
        self._size = size
        self._values: OrderedDict[Hashable, Value] = OrderedDict()

    def get(self, key: Hashable, make: Callable[[], Value]) -> Value:
        """The value kept under `key`, made now if there is none."""
        if key in self._values:
            self._values.move_to_end(key)
            return self._values[key]
        value = self._values[key] = make()
        if len(self._values) > self._size:
            self._values.popitem(last=False)
        return value
