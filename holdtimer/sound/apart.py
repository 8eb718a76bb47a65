"""A player whose sound library runs in a process of its own.

Sound libraries write over the screen, hang when a device or its server hangs, hold the interpreter's lock
while they open a device, keep a program from ending, and one of them can crash it. In a process of their own
they can do none of that to a session, and the sounds stay exact however busy the screen is. That process
hears of all sounds ahead, and the steady clock is the same in both.
"""

import atexit
from collections.abc import Callable
from pathlib import Path
from queue import Empty, SimpleQueue
from threading import Thread

from holdtimer.sound.attendant import Attendant, Plays
from holdtimer.sound.helper import Helper, command
from holdtimer.sound.patterns import Sound
from holdtimer.sound.player import Pace, steady

ASK_EVERY_S = 0.5
LEAVING_S = 3.0

Order = Callable[[Attendant], None]


class PlayerApart:
    """Plays with the library of the given name, `miniaudio` or `simpleaudio`; `volume` is 0-1."""

    def __init__(
        self,
        name: str,
        pace: Pace,
        volume: float = 1.0,
        start: Callable[[], Plays] | None = None,
    ) -> None:
        self.name = name
        self._pace = pace
        self._attendant = Attendant(start or (lambda: Helper(command("serve", name, str(volume)))), steady)
        self._orders: SimpleQueue[Order | None] = SimpleQueue()
        self._thread = Thread(target=self._attend, name="holdtimer-sound", daemon=True)
        self._shift = 0.0
        self._check_at = 0.0

    def open(self) -> None:
        """Start the process and wait until it has its device. Raises SoundError where it gets none."""
        self._attendant.begin()
        # whatever delays this between its two readings makes the difference smaller, never larger
        self._shift = max(steady() - self._pace.now() for _ in range(9))
        self._thread.start()
        atexit.register(self._leave)

    def schedule(self, sound: Sound, at: float) -> None:
        """Play a sound at `at`, or as soon as possible where that is past."""
        self._add("play", sound.value, at)

    def say(self, speech: Path, at: float) -> None:
        """Say what is in a file at `at`, or as soon as possible where that is past."""
        self._add("say", str(speech), at)

    def hush(self) -> None:
        """Break off the speech that is being heard."""
        self._orders.put(Attendant.hush)

    def withdraw(self, after: float) -> None:
        """Forget what is due later than `after`."""
        limit = self._pace.limit(after) + self._shift
        self._orders.put(lambda attendant: attendant.forget(limit))

    def trouble(self) -> str | None:
        """Return why nothing is heard just now."""
        return self._attendant.trouble

    def close(self) -> None:
        """Have the process ended; it may take a moment longer than this call."""
        self._orders.put(None)

    def _add(self, verb: str, what: str, at: float) -> None:
        due = self._pace.start(at) + self._shift
        self._orders.put(lambda attendant: attendant.add(verb, what, due))

    def _attend(self) -> None:
        """Hand on orders, and look after the process in between."""
        while (order := self._next_order()) is not None:
            order(self._attendant)
        self._attendant.end()

    def _next_order(self) -> Order | None:
        """Return the next order, or to check when it is time for it; None to end."""
        left = self._check_at - steady()
        try:
            if left > 0:
                return self._orders.get(timeout=left)
        except Empty:
            pass
        self._check_at = steady() + ASK_EVERY_S
        return Attendant.check

    def _leave(self) -> None:
        """End the process before the program ends."""
        self.close()
        self._thread.join(LEAVING_S)
