"""A small memory of what was worked out last, safe to share between threads."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Generic, TypeVar

T = TypeVar("T")


class Same:
    """Stands in a key for one object, whatever that holds: equal to itself alone.

    Parameters
    ----------
    of : object
        Kept as long as the key is.
    """

    __slots__ = ("of",)

    def __init__(self, of: object) -> None:
        self.of = of

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and other.of is self.of

    def __hash__(self) -> int:
        return id(self.of)


class Recent(Generic[T]):
    """The last few results, by key.

    Parameters
    ----------
    size : int
        How many are kept.
    """

    def __init__(self, size: int) -> None:
        self._size = size
        self._kept: OrderedDict[Hashable, T] = OrderedDict()
        self._lock = Lock()

    def get(self, key: Hashable, make: Callable[[], T]) -> T:
        """
        The result for a key, made if it is not remembered.

        Parameters
        ----------
        key : hashable
            What it depends on.
        make : callable
            Works it out; if it raises, nothing is remembered.

        Returns
        -------
        object
            The result.
        """
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        made = make()
        self.put(key, made)
        return made

    def put(self, key: Hashable, value: T) -> None:
        """Remember a result."""
        with self._lock:
            self._kept[key] = value
            self._kept.move_to_end(key)
            while len(self._kept) > self._size:
                self._kept.popitem(last=False)

    def peek(self, key: Hashable) -> T | None:
        """The result for a key, if it is remembered."""
        with self._lock:
            return self._kept.get(key)
