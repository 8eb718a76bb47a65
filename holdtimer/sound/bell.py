"""The terminal's own bell: the last resort, at what matters most."""

import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path

from holdtimer.errors import SoundError
from holdtimer.sound.patterns import Sound
from holdtimer.sound.player import Pace
from holdtimer.sound.timed import TimedThread

BELL = "\a"

RUNG_AT = frozenset(
    {
        Sound.TESTED,
        Sound.WINDOW_OPEN,
        Sound.BAND,
        Sound.FINAL_STRETCH,
        Sound.WINDOW_OVER,
        Sound.FAILURE,
        Sound.RE_ENTRY,
        Sound.TAKEN_BACK,
        Sound.READY,
        Sound.NOT_READY,
        Sound.REST_OVER,
        Sound.ASKS,
        Sound.KEYS_LOST,
        Sound.SESSION_OVER,
    }
)
"""Acknowledgements and boundaries; countdowns and rhythms would drown them in a bell that knows one sound."""

Write = Callable[[str], None]


def terminal_writer() -> Write | None:
    """Return how to write to the terminal the program was started in; None where there is none."""
    for stream in (sys.__stdout__, sys.__stderr__):
        if stream is not None and stream.isatty():
            return partial(print, end="", file=stream, flush=True)
    return None


class BellPlayer:
    """Rings with `write`, called from a thread of the player's own; it is None where there is no terminal."""

    name = "bell"

    def __init__(self, pace: Pace, write: Write | None) -> None:
        self._pace = pace
        self._write = write
        self._thread: TimedThread[Sound] = TimedThread(self._ring, pace.now)
        self._trouble: str | None = None

    def open(self) -> None:
        """Begin. Raises SoundError where there is no terminal to ring."""
        if self._write is None:
            raise SoundError("there is no terminal whose bell could ring")
        self._thread.start()

    def schedule(self, sound: Sound, at: float) -> None:
        """Ring at `at` for a sound that matters enough."""
        if sound in RUNG_AT:
            self._thread.add(sound, self._pace.start(at))

    def say(self, speech: Path, at: float) -> None:
        """Say nothing: a bell can't speak."""

    def hush(self) -> None:
        """Do nothing, since nothing is said."""

    def withdraw(self, after: float) -> None:
        """Forget what is due later than `after`."""
        self._thread.withdraw(self._pace.limit(after))

    def trouble(self) -> str | None:
        """Return that the terminal took no bell."""
        return self._trouble

    def close(self) -> None:
        """Ring no more."""
        self._thread.stop()

    def _ring(self, _sound: Sound) -> None:
        try:
            if self._write is not None:
                self._write(BELL)
            self._trouble = None
        except (OSError, ValueError):
            self._trouble = "the terminal can't be rung"
