"""What a run was asked for, the log held for it, and opening it."""

from argparse import Namespace
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from holdtimer.cli.fallback_save import saved
from holdtimer.cli.paths import (
    data_folder,
    person_named,
    remember,
    speech_folder,
    waiting_elsewhere,
)
from holdtimer.config import Personal, read_config
from holdtimer.errors import BadInputError, BrokenSessionError, ExitCode
from holdtimer.live.audio import Speech
from holdtimer.live.clock import SteadyClock
from holdtimer.live.plain import say
from holdtimer.live.setup import Opening, Run, RunRequest, close_left, open_new, resume, speed_of
from holdtimer.log.folder import person_folder
from holdtimer.log.lock import hold
from holdtimer.log.reader import Unfinished, unfinished
from holdtimer.program.compiling import find_script
from holdtimer.program.loading import Loaded, find, load
from holdtimer.sound.player import Player
from holdtimer.sound.players import Write, choose
from holdtimer.sound.voice import VoiceSettings, voice_for


@dataclass(frozen=True, slots=True)
class HeldRun:
    """A run whose log is held: what was asked for, and the settings of the person."""

    request: RunRequest
    args: Namespace
    own: Personal
    remarks: tuple[str, ...]

    def player(self, write: Write | None = None) -> tuple[Player, list[str]]:
        """Return the player, and remarks on it; `write` rings the bell. Raises SoundError."""
        clock, own = self.request.clock, self.own
        return choose(
            self.args.sound or own.sound,
            clock.now,
            speed=clock.speed,
            volume=own.volume,
            speaker_delay_s=own.speaker_delay_s,
            write=write,
        )

    def open(self, player: Player, opening: Opening) -> tuple[Run, list[str]]:
        """Open the run, and return remarks on it: the session that was left, else a new one."""
        request, left = self.request, self.request.left
        own = self.own
        is_on = own.voice if self.args.voice is None else self.args.voice == "on"
        settings = VoiceSettings(is_on, own.voice_words_per_minute, own.volume * own.voice_volume)
        voice, remarks = voice_for(player.name, settings, speech_folder())
        speech = Speech(voice, opening.last)
        remarks += [*self.remarks, *opening.remarks]
        if opening.resumes and left is not None and left.log.opened is not None:
            return resume(request, left, player, speech), remarks
        if request.loaded is None:
            raise BadInputError("there is no session to resume")
        if left is not None:
            try:
                close_left(request, left)
                if request.resumable is None:
                    remarks.append(f"a rehearsal that you left at speed {speed_of(left):g} is closed now")
            except BrokenSessionError as error:
                remarks.append(f"a session that you left stays open: {error}")
        return open_new(request, request.loaded, opening, player, speech), remarks


@contextmanager
def held_run(args: Namespace) -> Iterator[HeldRun]:
    """Hold the log for a run. Raises BadInputError and whatever makes the run impossible."""
    loaded = None if args.resume or args.close else load(find(args.program))
    if loaded is not None:
        find_script(loaded.program, args.script)
    data = data_folder(args)
    person = person_named(args, data)
    _left(data, person, args, loaded)  # before the log is held, which makes a folder
    with hold(person_folder(data, person), datetime.now(UTC)) as holding:
        left = _left(data, person, args, loaded)  # once more: another run may just have ended
        found = read_config(person)
        remarks = [*filter(None, [holding.remark]), *waiting_elsewhere(data, person)]
        if found.others:
            remarks.append("the settings of somebody else have errors: `holdtimer config` lists them")
        speed = args.speed if loaded is not None or left is None else speed_of(left)
        if speed != args.speed:
            remarks.append(f"a rehearsal resumes at the speed it began with: {speed:g}")
        if loaded is not None:
            remember(data, person, loaded)
        own = found.values
        request = RunRequest(data, person, loaded, args.script, left, own.keys, SteadyClock(speed))
        yield HeldRun(request, args, own, tuple(remarks))


def _left(data: Path, person: str, args: Namespace, loaded: Loaded | None) -> Unfinished | None:
    """Return what was left: a rehearsal where one is run, or where nothing else can be resumed or closed.

    Raises BadInputError where nothing was left and there is no program to begin.
    """
    now, is_rehearsal = datetime.now(UTC), args.speed != 1
    found = unfinished(data, person, now, rehearsals=is_rehearsal)
    if found is None and not is_rehearsal and loaded is None:
        found = unfinished(data, person, now, rehearsals=True)
    if found is None and loaded is None:
        what = "rehearsal" if is_rehearsal else "session"
        raise BadInputError(f"there is no {what} of {person} to {'close' if args.close else 'resume'}")
    return found


def close(args: Namespace) -> int:
    """Close the session that was left, and return the exit code."""
    with held_run(args) as held:
        left = held.request.left
        if left is None:
            return ExitCode.DONE
        closed = close_left(held.request, left)
        if closed.is_written:
            say(f"closed: {left.log.session}{', a rehearsal' if left.log.rehearsal else ''}")
        return saved(closed, ExitCode.DONE)
