"""The players a session can have, and the choice of one that works here."""

import atexit
import sys
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any, Literal

from holdtimer.sound.patterns import PATTERNS, SOUND_TEXTS, Sound
from holdtimer.sound.player import (
    AT_ONCE,
    Clock,
    OffPlayer,
    Pace,
    Player,
    SoundTrouble,
    TimedQueue,
    TimedThread,
    steady,
)
from holdtimer.sound.worker import Patience, Running, Supervisor, Worker, command

# -- a sound library in a worker ---------------------------------------------------------------------------

PLAYER_PATIENCE = Patience(opening_s=3.0, answer_s=2.0)
LEAVING_S = 3.0


class WorkerPlayer:
    """Plays with the library of the given name, `miniaudio` or `simpleaudio`, in a worker: see `devices`.

    The worker hears of all sounds ahead, so they stay exact however busy the screen is. `volume` is 0-1.
    """

    def __init__(
        self, name: str, pace: Pace, volume: float = 1.0, start: Callable[[], Running] | None = None
    ) -> None:
        self.name = name
        self._pace = pace
        words = command("devices", name, str(volume))
        start = start or partial(Worker, "sound player", words, PLAYER_PATIENCE)
        self._supervisor = Supervisor([start], self._still_due)
        self._due: TimedQueue[tuple[str, str]] = TimedQueue()
        self._shift = 0.0  # from the pace's real seconds to the steady clock, which all processes share

    def open(self) -> None:
        """Start the worker and wait until it has its device. Raises SoundTrouble where it gets none."""
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
        self._order("hush")

    def withdraw(self, after: float) -> None:
        """Forget what is due later than `after`."""
        limit = self._pace.limit(after) + self._shift
        self._supervisor.post(lambda: self._due.withdraw(limit))
        self._order("withdraw", limit)

    def trouble(self) -> str | None:
        """Return why nothing is heard just now."""
        return self._supervisor.trouble

    def close(self) -> None:
        """Have the worker ended; it may take a moment longer than this call."""
        self._supervisor.close()

    def _order(self, *order: Any) -> None:
        self._supervisor.post(partial(self._supervisor.send, *order))

    def _add(self, verb: str, what: str, at: float) -> None:
        due = self._pace.start(at) + self._shift
        self._supervisor.post(lambda: self._due.add((verb, what), due))
        self._order(verb, what, due)

    def _still_due(self) -> list[tuple[str, str, float]]:
        """Return the orders for what is still to sound."""
        now = steady()
        self._due.take(now, now)
        return [(verb, what, due) for due, (verb, what) in self._due.waiting()]


# -- the terminal's own bell, the last resort ----------------------------------------------------------------

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
        """Begin. Raises SoundTrouble where there is no terminal to ring."""
        if self._write is None:
            raise SoundTrouble("there is no terminal whose bell could ring")
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
            self._trouble = "the terminal can't be rung"


# -- choosing ------------------------------------------------------------------------------------------------


def how_to_add(extra: str) -> str:
    """Return in words how to install an extra: never by a name in a registry, where it may be anybody's."""
    return f"in the folder of holdtimer: pip install '.[{extra}]'"


Wanted = Literal["auto", "simpleaudio", "miniaudio", "bell", "off"]
ORDER: tuple[Wanted, ...] = ("simpleaudio", "miniaudio", "bell")

Make = Callable[[Wanted, Pace], Player]

CRASHES_FROM = (3, 12)
"""From this Python on simpleaudio 1.0.4 ends the process at the end of its first sound."""


class NotInstalled(SoundTrouble):
    """A sound library is not there; the text says how to get it."""


@dataclass(frozen=True, slots=True)
class Installed:
    """What is installed here, asked by distribution: importing a sound library to see may crash."""

    has: Callable[[str], bool]
    python: tuple[int, int]

    def require(self, name: Wanted) -> None:
        """Raise SoundTrouble where the named player's library is missing or unsafe here."""
        if name == "simpleaudio":
            self._require_simpleaudio()
        if name == "miniaudio" and not self.has("miniaudio"):
            raise NotInstalled("miniaudio is not installed: pip install miniaudio")

    def _require_simpleaudio(self) -> None:
        stock, patched = self.has("simpleaudio"), self.has("simpleaudio-patched")
        if not stock and not patched:
            raise NotInstalled(f"simpleaudio is not installed; {how_to_add('simpleaudio')}")
        # with both, there is no telling which of them the one module is from
        if stock and self.python >= CRASHES_FROM:
            raise SoundTrouble(
                f"simpleaudio crashes on Python {self.python[0]}.{self.python[1]}: "
                f"pip uninstall simpleaudio simpleaudio-patched; then, {how_to_add('simpleaudio')}"
            )


def _has(distribution: str) -> bool:
    try:
        version(distribution)
    except PackageNotFoundError:
        return False
    return True


HERE = Installed(_has, sys.version_info[:2])


def choose(
    wanted: Wanted,
    clock: Clock,
    *,
    speed: float = 1.0,
    volume: float = 1.0,
    speaker_delay_s: float = 0.0,
    write: Write | None = None,
    installed: Installed = HERE,
    make: Make | None = None,
) -> tuple[Player, list[str]]:
    """Return an open player, and in plain words why each one before it could not be had.

    The first that opens of simpleaudio, miniaudio, bell and off, from the wanted one on. `clock` is what due
    times are of and runs `speed` times as fast as real time. `volume` is 0-1; `speaker_delay_s` see `Pace`.
    `write` rings the bell, where the terminal is not simply written to. Raises SoundTrouble when a library
    asked for by name is not installed or not safe here.
    """
    pace = Pace(clock, speed, speaker_delay_s)
    make = make or _maker(volume, write)
    installed.require(wanted)
    remarks: list[str] = []
    for name in _from(wanted):
        try:
            return _opened(name, pace, installed, make), remarks
        except SoundTrouble as trouble:
            if not (name == "simpleaudio" and isinstance(trouble, NotInstalled)):
                remarks.append(f"{name}: {trouble}")
    return OffPlayer(), remarks


def _from(wanted: Wanted) -> tuple[Wanted, ...]:
    """Return what to try, best first."""
    if wanted == "auto":
        return ORDER
    return ORDER[ORDER.index(wanted) :] if wanted in ORDER else ()


def _opened(name: Wanted, pace: Pace, installed: Installed, make: Make) -> Player:
    installed.require(name)
    player = make(name, pace)
    player.open()
    return player


def _maker(volume: float, write: Write | None) -> Make:
    """Return what makes the real players by name."""

    def make(name: Wanted, pace: Pace) -> Player:
        if name == "bell":
            return BellPlayer(pace, write or terminal_writer())
        return WorkerPlayer(name, pace, volume)

    return make


PAUSE_S = 0.8


def play_all(player: Player, say: Callable[[str], None], wait: Callable[[float], None]) -> None:
    """Say each sound's name and meaning as one line and play it; `wait` waits so many real seconds."""
    for sound in Sound:
        say(f"{sound} - {SOUND_TEXTS[sound]}")
        player.schedule(sound, AT_ONCE)
        wait(PATTERNS[sound].length_s + PAUSE_S)
        if trouble := player.trouble():
            say(f"not heard: {trouble}")
