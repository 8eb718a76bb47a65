"""A thread that does something with each item when it is due."""

from collections.abc import Callable
from threading import Event, Thread
from typing import Generic, TypeVar

from holdtimer.sound.due import Due
from holdtimer.sound.player import Clock

T = TypeVar("T")


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
