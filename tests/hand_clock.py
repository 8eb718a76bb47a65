"""A clock that a test moves by hand."""

from dataclasses import dataclass


@dataclass(slots=True)
class HandClock:
    """Stands still until its `time` is set."""

    time: float = 1000.0
    speed: float = 1.0

    def now(self) -> float:
        """Return the present."""
        return self.time

    __call__ = now

    def at(self, mono: float) -> float:
        """Return this clock's time at a real steady time."""
        return mono * self.speed
