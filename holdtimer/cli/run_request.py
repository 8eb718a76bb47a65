"""What a run was asked for, and the log held for it."""

from argparse import Namespace
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from holdtimer.cli import exits
from holdtimer.cli.fallback_save import rescued
from holdtimer.cli.faults import BadInput
from holdtimer.cli.paths import Remembered, data_folder, person_named, remember, speech_folder
from holdtimer.config import Personal, read_config
from holdtimer.live.audio import Speech
from holdtimer.live.clock import SteadyClock
from holdtimer.live.preflight import Request
from holdtimer.live.setup import BrokenSession, Means, Opening, Run, close_unfinished, open_again, open_new
from holdtimer.log.clocks import local_now
from holdtimer.log.folder import person_folder
from holdtimer.log.lock import hold
from holdtimer.log.reader import Unfinished, unfinished
from holdtimer.program.compiling import find_script
from holdtimer.program.loading import Loaded, find, lasting_name, load
from holdtimer.session.debounce import Settings
from holdtimer.sound.bell import Write
from holdtimer.sound.choosing import choose
from holdtimer.sound.player import OffPlayer, Player
from holdtimer.sound.voice import VoiceSettings
from holdtimer.sound.voice_apart import voice_for

_OTHERS = "what is set for somebody else has a fault: `holdtimer config` tells it"


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a run was asked for."""

    args: Namespace
    data: Path
    person: str
    speed: float
    loaded: Loaded | None  # None where only a session that was left matters
    left: Unfinished | None
    settings: Personal
    remarks: tuple[str, ...] = ()

    @property
    def request(self) -> Request:
        """What is to be settled before the session opens."""
        return Request(
            data=self.data,
            person=self.person,
            loaded=self.loaded,
            script=self.args.script,
            is_rehearsal=self.speed != 1,
            now=local_now(),
            left=self.left if self.left is not None and _speed(self.left) == self.speed else None,
        )

    def means(self, player: Player) -> Means:
        """Return what the run works with."""
        own = self.settings
        settings = Settings(own.guard_s, own.back_in_guard_s, own.not_taps)
        return Means(self.data, self.person, SteadyClock(self.speed), player, settings)

    def player(self, write: Write | None = None) -> tuple[Player, list[str]]:
        """Return the player and what is to be remarked of it; `write` rings the bell. Raises SoundTrouble."""
        own = self.settings
        return choose(
            self.args.sound or own.sound,
            SteadyClock(self.speed).now,
            speed=self.speed,
            volume=own.volume,
            speaker_delay_s=own.speaker_delay_s,
            write=write,
        )

    def speech(self, player: Player, opening: Opening) -> tuple[Speech, list[str]]:
        """Return what speaks beside the player, and what is to be remarked of it."""
        own = self.settings
        is_on = own.voice if self.args.voice is None else self.args.voice == "on"
        settings = VoiceSettings(is_on, own.voice_words_per_minute, own.volume * own.voice_volume)
        voice, remarks = voice_for(player.name, settings, speech_folder())
        return Speech(voice, opening.last), remarks


@contextmanager
def wanted_run(args: Namespace) -> Iterator[Wanted]:
    """Hold the log and tell what is wanted. Raises BadInput and what makes the run impossible."""
    loaded = None if args.resume or args.close else load(find(args.program))
    if loaded is not None:
        find_script(loaded.program, args.script)
    data = data_folder(args)
    person = person_named(args, data)
    _left(data, person, args, loaded)  # before the log is held, which makes a folder
    with hold(person_folder(data, person), datetime.now(UTC)) as holding:
        left = _left(data, person, args, loaded)  # anew: another run may just have ended
        found = read_config(person)
        remarks = [*filter(None, [holding.remark]), *([_OTHERS] if found.others else [])]
        speed = args.speed if loaded is not None or left is None else _speed(left)
        if speed != args.speed:
            remarks.append(f"a rehearsal goes on at the speed it began with: {speed:g}")
        if loaded is not None:
            remember(data, Remembered(person, lasting_name(Path(loaded.name))))
        yield Wanted(args, data, person, speed, loaded, left, found.values, tuple(remarks))


def _left(data: Path, person: str, args: Namespace, loaded: Loaded | None) -> Unfinished | None:
    """Return what was left: a rehearsal where one is run, or where nothing else can be resumed or closed.

    Raises BadInput where nothing was left, and no program is there to begin anew with.
    """
    now, is_rehearsal = datetime.now(UTC), args.speed != 1
    found = unfinished(data, person, now, rehearsals=is_rehearsal)
    if found is None and not is_rehearsal and loaded is None:
        found = unfinished(data, person, now, rehearsals=True)
    if found is None and loaded is None:
        raise BadInput(f"no {'rehearsal' if is_rehearsal else 'session'} of {person} was left unfinished")
    return found


def _speed(left: Unfinished) -> float:
    return left.log.opened.speed if left.log.opened is not None else 1.0


def open_wanted(wanted: Wanted, player: Player, opening: Opening) -> tuple[Run, list[str]]:
    """Open the run, and tell what is to be remarked of it.

    It is the session that was left when that is to go on, else a new one.
    """
    left, loaded = wanted.left, wanted.loaded
    speech, remarks = wanted.speech(player, opening)
    remarks += wanted.remarks
    if opening.goes_on and left is not None and left.log.opened is not None:
        return open_again(replace(wanted.means(player), speech=speech), left), remarks
    if loaded is None:
        raise BadInput("nothing was left to go on with")
    means = wanted.means(player)
    if left is not None:
        try:
            close_unfinished(means, left)
            if _speed(left) != wanted.speed:
                remarks.append(f"a rehearsal that was left at speed {_speed(left):g} is closed now")
        except BrokenSession as error:
            remarks.append(f"a session that was left stays open: {error}")
    return open_new(replace(means, speech=speech), loaded, opening), remarks


def close_left(args: Namespace) -> int:
    """Close the session that was left, and return the exit code."""
    with wanted_run(args) as wanted:
        if wanted.left is None:
            return exits.DONE
        closed = close_unfinished(wanted.means(OffPlayer()), wanted.left)
        if closed.is_written:
            print(f"closed: {wanted.left.log.session}{', a rehearsal' if wanted.left.log.rehearsal else ''}")
        return rescued(closed, exits.DONE)
