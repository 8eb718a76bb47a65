"""What is to sound, kept in the order it is due."""

from bisect import insort
from threading import Lock
from typing import Generic, TypeVar

LATEST_S = 0.5
"""A sound that could not be started this long after it was due is left out: no cue is caught up."""

T = TypeVar("T")


class Due(Generic[T]):
    """Items and the seconds they are due at; may be used from several threads."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._items: list[tuple[float, T]] = []

    def add(self, item: T, due: float) -> None:
        """Keep an item until it is due."""
        with self._lock:
            insort(self._items, (due, item), key=lambda entry: entry[0])

    def withdraw(self, after: float) -> None:
        """Forget the items that are due later than `after`."""
        with self._lock:
            self._items = [entry for entry in self._items if entry[0] <= after]

    def next(self) -> float | None:
        """Return when the next item is due; None when nothing waits."""
        with self._lock:
            return self._items[0][0] if self._items else None

    def waiting(self) -> list[tuple[float, T]]:
        """Return what waits, in the order it is due."""
        with self._lock:
            return list(self._items)

    def take(self, until: float, now: float) -> list[tuple[float, T]]:
        """Return, and forget, what is due up to `until`, without what is too late at `now`."""
        with self._lock:
            taken = [entry for entry in self._items if entry[0] <= until]
            del self._items[: len(taken)]
        return [entry for entry in taken if now - entry[0] <= LATEST_S]
