"""The players a session can have, and the choice of one that works on this machine."""

import atexit
import sys
from collections.abc import Callable
from functools import partial
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Literal

from holdtimer.errors import SoundError
from holdtimer.sound.patterns import PATTERNS, SOUND_TEXTS, Sound
from holdtimer.sound.player import AT_ONCE, Clock, OffPlayer, Pace, Player, TimedQueue, TimedThread, steady
from holdtimer.sound.worker import Patience, Supervisor, Worker, command

# -- a sound library in a worker ---------------------------------------------------------------------------

PLAYER_PATIENCE = Patience(opening_s=3.0, answer_s=2.0)
LEAVING_S = 3.0


class WorkerPlayer:
    """Plays with the library of the given name, `miniaudio` or `simpleaudio`, in a worker: see `devices`.

    The worker hears of all sounds ahead, so they stay exact however busy the screen is. `volume` is 0-1.
    """

    def __init__(
        self, name: str, pace: Pace, volume: float = 1.0, start: Callable[[], Worker] | None = None
    ) -> None:
        self.name = name
        self._pace = pace
        words = command("devices", name, str(volume))
        start = start or partial(Worker, "sound player", words, PLAYER_PATIENCE)
        self._supervisor = Supervisor([start], self._still_due)
        self._due: TimedQueue[tuple[str, str]] = TimedQueue()
        self._shift = 0.0  # from the pace's real seconds to the steady clock, which all processes share

    def open(self) -> None:
        """Start the worker and wait until it has its device. Raises SoundError where it gets none."""
        self._supervisor.begin()
        # whatever delays this between its two readings makes the difference smaller, never larger
        self._shift = max(steady() - self._pace.now() for _ in range(9))
        self._supervisor.attend()
        atexit.register(self._supervisor.close, LEAVING_S)

    def schedule(self, sound: Sound, at: float) -> None:
        """Play a sound at `at`, or as soon as possible where that is past."""
        self._add("schedule", sound.value, at)

    def say(self, speech: Path, at: float) -> None:
        """Say what is in a file at `at`, or as soon as possible where that is past."""
        self._add("say", str(speech), at)

    def hush(self) -> None:
        """Break off the speech that is being heard."""
        self._supervisor.post(partial(self._supervisor.send, "hush"))

    def withdraw(self, after: float) -> None:
        """Forget what is due later than `after`."""
        limit = self._pace.limit(after) + self._shift
        self._supervisor.post(partial(self._due.withdraw, limit))
        self._supervisor.post(partial(self._supervisor.send, "withdraw", limit))

    def trouble(self) -> str | None:
        """Return why nothing is heard just now."""
        return self._supervisor.trouble

    def close(self) -> None:
        """End the worker; it may take a moment longer than this call."""
        self._supervisor.close()

    def _add(self, verb: str, what: str, at: float) -> None:
        due = self._pace.start(at) + self._shift
        self._supervisor.post(partial(self._keep, verb, what, due))

    def _keep(self, verb: str, what: str, due: float) -> None:
        """Send an order, and keep it until it is due: a worker that is started again will need it."""
        now = steady()
        self._due.take(now, now)
        self._due.add((verb, what), due)
        self._supervisor.send(verb, what, due)

    def _still_due(self) -> list[tuple[str, str, float]]:
        """Return the orders for what is still to sound."""
        now = steady()
        self._due.take(now, now)
        return [(verb, what, due) for due, (verb, what) in self._due.waiting()]


# -- the terminal's own bell, the last resort ----------------------------------------------------------------

RUNG_AT = frozenset(Sound) - {
    Sound.COUNT_IN, Sound.LAST_TEN, Sound.TICK, Sound.BREATHE, Sound.LOWER, Sound.LIFT, Sound.PAUSE
}  # fmt: skip
"""Answers and boundaries alone: with its one sound, countdowns and rhythms would drown them."""

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
            raise SoundError("there is no terminal with a bell to ring")
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
                self._write("\a")
            self._trouble = None
        except (OSError, ValueError):
            self._trouble = "the terminal bell can't be rung"


# -- choosing ------------------------------------------------------------------------------------------------


def how_to_add(extra: str) -> str:
    """Return in words how to install an extra; never by a name in a registry, where it may be anybody's."""
    return f"in the folder of holdtimer: pip install '.[{extra}]'"


PlayerName = Literal["auto", "simpleaudio", "miniaudio", "bell", "off"]
ORDER: tuple[PlayerName, ...] = ("simpleaudio", "miniaudio", "bell")

Make = Callable[[PlayerName, Pace], Player]

CRASHES_FROM = (3, 12)
"""From this Python on simpleaudio 1.0.4 ends the process at the end of its first sound."""


class NotInstalledError(SoundError):
    """A sound library is not there; the text says how to get it."""


def _has(distribution: str) -> bool:
    try:
        version(distribution)
    except PackageNotFoundError:
        return False
    return True


def require(
    name: PlayerName, has: Callable[[str], bool] = _has, python: tuple[int, int] = sys.version_info[:2]
) -> None:
    """Raise SoundError where the library of the named player is missing or crashes on this Python.

    `has` says whether a distribution is installed: importing a sound library to see may crash.
    """
    if name == "simpleaudio":
        stock, patched = has("simpleaudio"), has("simpleaudio-patched")
        if not stock and not patched:
            raise NotInstalledError(f"simpleaudio is not installed; {how_to_add('simpleaudio')}")
        # with both, there is no knowing which of them the one module is from
        if stock and python >= CRASHES_FROM:
            raise SoundError(
                f"simpleaudio crashes on Python {python[0]}.{python[1]}: "
                f"pip uninstall simpleaudio simpleaudio-patched; then, {how_to_add('simpleaudio')}"
            )
    if name == "miniaudio" and not has("miniaudio"):
        raise NotInstalledError("miniaudio is not installed: pip install miniaudio")


def choose(
    name: PlayerName,
    clock: Clock,
    *,
    speed: float = 1.0,
    volume: float = 1.0,
    speaker_delay_s: float = 0.0,
    write: Write | None = None,
    check: Callable[[PlayerName], None] = require,
    make: Make | None = None,
) -> tuple[Player, list[str]]:
    """Return an open player, and in plain words why each one before it could not be had.

    The first that opens of simpleaudio, miniaudio, bell and off, from the named one on. `clock` is what due
    times are of and runs `speed` times as fast as real time. `volume` is 0-1; `speaker_delay_s` see `Pace`.
    `write` rings the bell, where the terminal is not simply written to. Raises SoundError when a library
    asked for by name is not installed or not safe here, as `check` does.
    """

    def make_real(name: PlayerName, pace: Pace) -> Player:
        if name == "bell":
            return BellPlayer(pace, write or terminal_writer())
        return WorkerPlayer(name, pace, volume)

    make = make or make_real
    check(name)
    remarks: list[str] = []
    for each in _from(name):
        try:
            check(each)
            player = make(each, Pace(clock, speed, speaker_delay_s))
            player.open()
        except SoundError as trouble:
            if not (each == "simpleaudio" and isinstance(trouble, NotInstalledError)):
                remarks.append(f"{each}: {trouble}")
        else:
            return player, remarks
    return OffPlayer(), remarks


def _from(name: PlayerName) -> tuple[PlayerName, ...]:
    """Return what to try, best first."""
    if name == "auto":
        return ORDER
    return ORDER[ORDER.index(name) :] if name in ORDER else ()


PAUSE_S = 0.8


def play_all(player: Player, say: Callable[[str], None], wait: Callable[[float], None]) -> None:
    """Say in one line what each sound is for, and play it; `wait` waits so many real seconds."""
    for sound in Sound:
        say(f"{sound} - {SOUND_TEXTS[sound]}")
        player.schedule(sound, AT_ONCE)
        wait(PATTERNS[sound].length_s + PAUSE_S)
        if trouble := player.trouble():
            say(f"not heard: {trouble}")
