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
        kept = self._found(inputs, values)
        if kept is not None:
            return kept[1]
        made = make()
        self.keep(inputs, values, made)
        return made

    def find(self, inputs: tuple[object, ...], values: Hashable) -> T | None:
        """Return what was kept for these very inputs and values, or None."""
        kept = self._found(inputs, values)
        return None if kept is None else kept[1]

    def keep(self, inputs: tuple[object, ...], values: Hashable, made: T) -> None:
        """Remember what was made, as where many are made at once."""
        with self._lock:
            self._kept[_key(inputs, values)] = (inputs, made)
            while len(self._kept) > self._size:
                self._kept.popitem(last=False)

    def _found(
        self, inputs: tuple[object, ...], values: Hashable
    ) -> tuple[tuple[object, ...], T] | None:
        key = _key(inputs, values)
        with self._lock:
            kept = self._kept.get(key)
            if kept is not None:
                self._kept.move_to_end(key)
            return kept


def _key(inputs: tuple[object, ...], values: Hashable) -> Hashable:
    return tuple(map(id, inputs)), values
