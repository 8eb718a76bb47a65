"""What every player of sounds can do, and the time it works by."""

import math
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

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
    nothing and prints nothing: what goes wrong is told by `trouble`.
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
