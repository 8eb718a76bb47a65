"""Keeps a process that plays going: starts it again after trouble, with what is still to sound."""

from collections.abc import Callable
from typing import Protocol

from holdtimer.errors import SoundError
from holdtimer.sound.player import Clock
from holdtimer.sound.timed import Due

FIRST_PAUSE_S, LONGEST_PAUSE_S = 1.0, 30.0
SETTLED_S = 30.0  # well for this long: the next trouble is a new one


class Plays(Protocol):
    """A running process that plays, as `helper.Helper`."""

    def send(self, order: str) -> None:
        """Send it an order."""
        ...

    def ask(self) -> None:
        """Ask it how it is."""
        ...

    def trouble(self) -> str | None:
        """Return its trouble."""
        ...

    def end(self) -> None:
        """Let it end."""
        ...


class Attendant:
    """Hands orders to a process that plays, and replaces one in trouble, waiting longer each time.

    `start` starts one and raises SoundError; `clock` is the one due times are of.
    """

    def __init__(self, start: Callable[[], Plays], clock: Clock) -> None:
        self.trouble: str | None = None
        """Why nothing is heard just now."""
        self._start = start
        self._clock = clock
        self._helper: Plays | None = None
        self._due: Due[tuple[str, str]] = Due()
        self._pause_s = FIRST_PAUSE_S
        self._changed_at = 0.0

    def begin(self) -> None:
        """Start the first process. Raises SoundError."""
        self._helper = self._start()
        self._changed_at = self._clock()

    def add(self, verb: str, what: str, due: float) -> None:
        """Have something done with `what` when it is due: a sound played, or speech said."""
        self._due.add((verb, what), due)
        self._send(f"{verb} {due!r} {what}")

    def hush(self) -> None:
        """Have the speech broken off that is being heard."""
        self._send("hush")

    def forget(self, after: float) -> None:
        """Have forgotten what is due later than `after`."""
        self._due.withdraw(after)
        self._send(f"forget {after!r}")

    def check(self) -> None:
        """See how the process is, and replace it when it is time to. To be called about twice a second."""
        now = self._clock()
        self._due.take(now, now)
        if self._helper is None:
            self._try_again(now)
        elif trouble := self._helper.trouble():
            self._give_up(trouble, now)
        else:
            self._helper.ask()
            if now - self._changed_at > SETTLED_S:
                self._pause_s = FIRST_PAUSE_S

    def end(self) -> None:
        """Let the process end."""
        if self._helper is not None:
            self._helper.end()
        self._helper = None

    def _send(self, order: str) -> None:
        if self._helper is not None:
            self._helper.send(order)

    def _give_up(self, trouble: str, now: float) -> None:
        self.trouble = trouble
        self._changed_at = now
        self.end()

    def _try_again(self, now: float) -> None:
        if now - self._changed_at < self._pause_s:
            return
        self._pause_s = min(2 * self._pause_s, LONGEST_PAUSE_S)
        self._changed_at = now
        try:
            self._helper = self._start()
        except SoundError as trouble:
            self.trouble = str(trouble)
            return
        self.trouble = None
        for due, (verb, what) in self._due.waiting():
            self._send(f"{verb} {due!r} {what}")
