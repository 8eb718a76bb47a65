"""The clock of a session, and the heartbeat that notices when the program stood still."""

import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from holdtimer.sound.player import steady


class Clock(Protocol):
    """A steady clock in seconds that may run faster than the world."""

    @property
    def speed(self) -> float:
        """How many times faster than real time it runs."""
        ...

    def now(self) -> float:
        """Return the present."""
        ...

    def at(self, mono: float) -> float:
        """Return this clock's time at `mono`, in real seconds of the machine's steady clock."""
        ...


@dataclass(frozen=True, slots=True)
class SteadyClock:
    """The machine's steady clock, times `speed`."""

    speed: float = 1.0

    def now(self) -> float:
        """Return the present."""
        return steady() * self.speed

    def at(self, mono: float) -> float:
        """Return this clock's time at a real steady time."""
        return mono * self.speed


EVERY_S = 0.25
LATE_S = 2.0  # a beat later than this is a gap
SLEPT_S = 1.0  # the clock that never stops ran ahead of the steady one by more than this


@dataclass(frozen=True, slots=True)
class Standstill:
    """Nothing ran between two instants of the steady clock (real seconds); `seconds` sleep included."""

    alive_at: float
    noticed_at: float
    seconds: float


class Heartbeat:
    """Beats in a thread of its own, so that a slow screen is not taken for a standstill.

    `boottime` returns seconds of a clock that goes on while the machine sleeps, or None where there is none.
    """

    def __init__(
        self,
        boottime: Callable[[], float | None],
        mono: Callable[[], float] = steady,
        every_s: float = EVERY_S,
    ) -> None:
        self._boottime, self._mono, self._every_s = boottime, mono, every_s
        self._lock = threading.Lock()
        self._stop = threading.Event()
        self._last = mono()
        self._last_boot = boottime()
        self._found: list[Standstill] = []
        self._thread = threading.Thread(target=self._run, name="heartbeat", daemon=True)

    def start(self) -> None:
        """Begin to beat."""
        self._thread.start()

    def stop(self) -> None:
        """Beat no more."""
        self._stop.set()

    def beat(self) -> None:
        """Beat once, and remember a standstill before it."""
        with self._lock:
            now, boot = self._mono(), self._boottime()
            passed = now - self._last
            world = boot - self._last_boot if boot is not None and self._last_boot is not None else passed
            if passed > self._every_s + LATE_S or world - passed > SLEPT_S:
                self._found.append(Standstill(self._last, now, max(passed, world)))
            self._last, self._last_boot = now, boot

    def standstills(self) -> list[Standstill]:
        """Return the standstills since the last call; one that is only ending now is among them."""
        self.beat()
        with self._lock:
            found, self._found = self._found, []
        return found

    def _run(self) -> None:
        while not self._stop.wait(self._every_s):
            self.beat()
