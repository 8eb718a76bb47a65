"""The clock of a session: steady, and faster in a rehearsal."""

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


@dataclass(slots=True)
class HandClock:
    """A clock moved by hand, for tests."""

    time: float = 1000.0
    speed: float = 1.0

    def now(self) -> float:
        """Return the present."""
        return self.time

    def at(self, mono: float) -> float:
        """Return this clock's time at a real steady time."""
        return mono * self.speed
