"""What every player of sounds can do, the clock it works by, and what waits for its time."""

import math
import sys
import time
from bisect import insort
from collections import deque
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from queue import Empty
from threading import Event, Lock, Thread
from typing import Generic, Protocol, TypeVar

from holdtimer.sound.patterns import Sound

Clock = Callable[[], float]
"""A steady clock in seconds: `time.monotonic`, or `time.perf_counter` on Windows."""

steady: Clock = time.perf_counter if sys.platform == "win32" else time.monotonic
"""The steady clock of the machine: the same in all its processes, and fine enough on each system."""

AT_ONCE = -math.inf
"""The due time of a sound that is to be heard as soon as possible."""


class Player(Protocol):
    """Plays sounds at the time they are due.

    Only `open` may take long or raise. After it every method returns within about a millisecond, raises
    nothing and prints nothing: `trouble` says what goes wrong.
    """

    @property
    def name(self) -> str:
        """What the player is called, as in `--sound NAME`."""
        ...

    def open(self) -> None:
        """Get ready to play. Raises SoundError with the reason in plain words."""
        ...

    def schedule(self, sound: Sound, at: float) -> None:
        """Play a sound at `at`, in seconds of the clock; one in the past is played as soon as possible."""
        ...

    def say(self, speech: Path, at: float) -> None:
        """Play a file of speech (48 kHz, mono, 16 bit) at `at`, as `schedule` does a sound."""
        ...

    def hush(self) -> None:
        """Break off the speech that is being heard."""
        ...

    def withdraw(self, after: float) -> None:
        """Forget the sounds and the speech due later than `after`, in seconds of the clock."""
        ...

    def trouble(self) -> str | None:
        """Return why nothing is heard just now, in plain words; None while all is well."""
        ...

    def close(self) -> None:
        """Fall silent and let go of the device; may be called twice."""
        ...


@dataclass(frozen=True, slots=True)
class Pace:
    """How due times relate to real seconds.

    `speed` is how many times faster than real time the clock runs (a rehearsal). `speaker_delay_s` is how
    late the loudspeaker sounds what it is given (wireless ones: 0.1-0.3 s); sounds start that much earlier.
    """

    clock: Clock
    speed: float = 1.0
    speaker_delay_s: float = 0.0

    def now(self) -> float:
        """Return the present in real seconds."""
        return self.clock() / self.speed

    def start(self, at: float) -> float:
        """Return when a sound asked for at `at` is to be started, in real seconds, never before now."""
        return max(at / self.speed - self.speaker_delay_s, self.now())

    def limit(self, after: float) -> float:
        """Return the real second later than which the starts of withdrawn sounds lie."""
        return after / self.speed - self.speaker_delay_s


class OffPlayer:
    """Plays nothing, and is never in trouble."""

    name = "off"

    def open(self) -> None:
        """Do nothing."""

    def schedule(self, sound: Sound, at: float) -> None:
        """Play nothing."""

    def say(self, speech: Path, at: float) -> None:
        """Say nothing."""

    def hush(self) -> None:
        """Do nothing, since nothing is said."""

    def withdraw(self, after: float) -> None:
        """Forget nothing, since nothing is kept."""

    def trouble(self) -> str | None:
        """Return None: silence is what was asked for."""
        return None

    def close(self) -> None:
        """Do nothing."""


LATEST_S = 0.5
"""A sound that could not be started this long after it was due is left out: no cue is caught up."""

T = TypeVar("T")


class Inbox(Generic[T]):
    """Takes items from any thread, and from the handler of a signal, for one thread that waits for them.

    Its wait ends in time. That of `queue.SimpleQueue`, up to Python 3.12, does not where a signal breaks into
    it and its time is up by then, as in a process that was stopped: it goes on until the next item.
    """

    def __init__(self) -> None:
        self._items: deque[T] = deque()
        self._nothing_new = Lock()  # let go by whoever puts something in
        self._nothing_new.acquire()

    def put(self, item: T) -> None:
        """Take an item, at once."""
        self._items.append(item)
        with suppress(RuntimeError):  # it was let go before
            self._nothing_new.release()

    def get(self, wait_s: float) -> T:
        """Return the oldest item, and forget it; wait at most so many seconds. Raises Empty."""
        until = steady() + wait_s
        while not self._items:
            if not self._nothing_new.acquire(timeout=max(0.0, until - steady())):
                raise Empty
        return self._items.popleft()

    def empty(self) -> bool:
        """Whether nothing is in it just now."""
        return not self._items


class TimedQueue(Generic[T]):
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
        self._due: TimedQueue[T] = TimedQueue()
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
