"""How what is left out of a plain installation is added."""

import sys
from collections.abc import Callable
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from typing import Literal

from holdtimer.errors import SoundError
from holdtimer.sound.apart import PlayerApart
from holdtimer.sound.bell import BellPlayer, Write, terminal_writer
from holdtimer.sound.patterns import MEANINGS, PATTERNS, Sound
from holdtimer.sound.player import AT_ONCE, Clock, OffPlayer, Pace, Player


def how_to_add(extra: str) -> str:
    """Return in words how to install an extra: never by a name in a registry, where it may be anybody's."""
    return f"in the folder of holdtimer: pip install '.[{extra}]'"


Wanted = Literal["auto", "simpleaudio", "miniaudio", "bell", "off"]
ORDER: tuple[Wanted, ...] = ("simpleaudio", "miniaudio", "bell")

Make = Callable[[Wanted, Pace], Player]

CRASHES_FROM = (3, 12)
"""From this Python on simpleaudio 1.0.4 ends the process at the end of its first sound."""


class NotInstalledError(SoundError):
    """A sound library is not there; the text says how to get it."""


@dataclass(frozen=True, slots=True)
class Installed:
    """What is installed here, asked by distribution: importing a sound library to see may crash."""

    has: Callable[[str], bool]
    python: tuple[int, int]

    def require(self, name: Wanted) -> None:
        """Raise SoundError where the named player's library is missing or unsafe here."""
        if name == "simpleaudio":
            self._require_simpleaudio()
        if name == "miniaudio" and not self.has("miniaudio"):
            raise NotInstalledError("miniaudio is not installed: pip install miniaudio")

    def _require_simpleaudio(self) -> None:
        stock, patched = self.has("simpleaudio"), self.has("simpleaudio-patched")
        if not stock and not patched:
            raise NotInstalledError(f"simpleaudio is not installed; {how_to_add('simpleaudio')}")
        # with both, there is no telling which of them the one module is from
        if stock and self.python >= CRASHES_FROM:
            raise SoundError(
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
    `write` rings the bell, where the terminal is not simply written to. Raises SoundError when a library
    asked for by name is not installed or not safe here.
    """
    pace = Pace(clock, speed, speaker_delay_s)
    make = make or _maker(volume, write)
    installed.require(wanted)
    remarks: list[str] = []
    for name in _from(wanted):
        try:
            return _opened(name, pace, installed, make), remarks
        except SoundError as trouble:
            if not (name == "simpleaudio" and isinstance(trouble, NotInstalledError)):
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
        return PlayerApart(name, pace, volume)

    return make


PAUSE_S = 0.8


def play_all(player: Player, say: Callable[[str], None], wait: Callable[[float], None]) -> None:
    """Say each sound's name and meaning as one line and play it; `wait` waits so many real seconds."""
    for sound in Sound:
        say(f"{sound} - {MEANINGS[sound]}")
        player.schedule(sound, AT_ONCE)
        wait(PATTERNS[sound].length_s + PAUSE_S)
        if trouble := player.trouble():
            say(f"not heard: {trouble}")
