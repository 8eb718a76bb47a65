"""Things to be done at their time: kept in order, and a thread that does each when it is due."""

from bisect import insort
from collections.abc import Callable
from threading import Event, Lock, Thread
from typing import Generic, TypeVar

from holdtimer.sound.player import Clock

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


class TimedThread(Generic[T]):
    """Calls `play` with each item at the time it is due; `clock` counts real seconds."""

    def __init__(self, play: Callable[[T], None], clock: Clock) -> None:
        self._play = play
        self._clock = clock
        self._due: Due[T] = Due()
        self._changed = Event()
        self._stopped = False
        self._thread = Thread(target=self._run, name="holdtimer-sound", daemon=True)

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def add(self, item: T, due: float) -> None:
        """Play an item at `due`, in seconds of the clock."""
        self._due.add(item, due)
        self._changed.set()

    def withdraw(self, after: float) -> None:
        """Forget what is due later than `after`."""
        self._due.withdraw(after)

    def stop(self) -> None:
        """Play nothing more."""
        self._stopped = True
        self._changed.set()

    def _run(self) -> None:
        while not self._stopped:
            self._changed.clear()
            now = self._clock()
            for _, item in self._due.take(now, now):
                self._play(item)
            due = self._due.next()
            self._changed.wait(None if due is None else max(0.0, due - self._clock()))
