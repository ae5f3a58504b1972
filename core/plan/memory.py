"""Remembering what was derived from frozen values, by the identity of those values."""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Generic, TypeVar

T = TypeVar("T")


class Memory(Generic[T]):
    """Results keyed by the identity of frozen inputs, and by further values.

    The inputs are kept alive with their result, so an identity is never met twice. The oldest
    results are dropped beyond ``size``.
    """

    def __init__(self, size: int) -> None:
        self._size = size
        self._lock = Lock()
        self._kept: OrderedDict[Hashable, tuple[tuple[object, ...], T]] = OrderedDict()

    def recall(self, inputs: tuple[object, ...], values: Hashable, make: Callable[[], T]) -> T:
        """Return what was made before from these very inputs and values, or make it now."""
        key = (tuple(id(i) for i in inputs), values)
        with self._lock:
            kept = self._kept.get(key)
            if kept is not None:
                self._kept.move_to_end(key)
                return kept[1]
        made = make()
        with self._lock:
            self._kept[key] = (inputs, made)
            while len(self._kept) > self._size:
                self._kept.popitem(last=False)
        return made
