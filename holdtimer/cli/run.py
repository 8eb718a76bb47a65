"""`run`: lead a session, on the full screen or as plain lines."""

import sys
from argparse import Namespace
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from holdtimer.cli import exits
from holdtimer.cli.faults import BadInput
from holdtimer.cli.places import Remembered, data_folder, person_named, remember
from holdtimer.cli.rescue import rescued
from holdtimer.cli.told import told
from holdtimer.config import Personal, read_config
from holdtimer.live.before import Request, before_run
from holdtimer.live.clock import SteadyClock
from holdtimer.live.opening import (
    LEFT_EXIT,
    BrokenSession,
    Means,
    Opening,
    Run,
    close_unfinished,
    open_again,
    open_new,
)
from holdtimer.log.anchors import local_now
from holdtimer.log.folder import person_folder
from holdtimer.log.lock import hold
from holdtimer.log.reading import NoSuchSession, Unfinished, find_session, unfinished
from holdtimer.script.compiling import find_script
from holdtimer.script.loading import Loaded, find, load
from holdtimer.session.hand import Settings
from holdtimer.sound.bell import Write
from holdtimer.sound.choosing import choose
from holdtimer.sound.off import OffPlayer
from holdtimer.sound.player import Player

if TYPE_CHECKING:
    from holdtimer.live.terminal import KeySource, Leave


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
    remark: str | None = None

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
            left=self.left,
        )

    def means(self, player: Player, speed: float | None = None) -> Means:
        """Return what the run works with, at another speed where one is given."""
        own = self.settings
        settings = Settings(own.guard_s, own.back_in_guard_s, own.not_taps)
        return Means(self.data, self.person, SteadyClock(speed or self.speed), player, settings)

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


def run(args: Namespace) -> int:
    """Lead one session and return how it ended. Raises BadInput and what makes the session impossible."""
    is_rehearsal = args.speed != 1
    if not args.plain and not args.close and not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise BadInput("the full screen needs a terminal; --plain runs the same session as lines of text")
    loaded = None if args.resume or args.close else load(find(args.program))
    if loaded is not None:
        find_script(loaded.program, args.script)
    data = data_folder(args)
    person = person_named(args, data)
    if loaded is None and _left(data, person, is_rehearsal) is None:
        raise BadInput(f"no session of {person} was left unfinished")
    with hold(person_folder(data, person), datetime.now(UTC)) as holding:
        left = _left(data, person, is_rehearsal)  # anew: another run may just have ended
        settings = read_config(person).values
        wanted = Wanted(args, data, person, args.speed, loaded, left, settings, holding.remark)
        return _close(wanted) if args.close else _lead(wanted)


def _left(data: Path, person: str, is_rehearsal: bool) -> Unfinished | None:
    found = unfinished(data, person, datetime.now(UTC), rehearsals=is_rehearsal)
    return found if found is not None and found.log.rehearsal == is_rehearsal else None


def _close(wanted: Wanted) -> int:
    left = wanted.left
    if left is None:
        return exits.DONE
    closed = close_unfinished(wanted.means(OffPlayer()), left)
    if closed.is_written:
        print(f"closed: {left.log.session}")
    return rescued(closed, exits.DONE)


def _lead(wanted: Wanted) -> int:
    code = _plain(wanted) if wanted.args.plain else _full_screen(wanted)
    if wanted.loaded is not None:
        remember(wanted.data, Remembered(wanted.person, wanted.args.program))
    return code


def open_wanted(wanted: Wanted, player: Player, opening: Opening) -> tuple[Run, list[str]]:
    """Open the run, and tell what is to be remarked of it.

    It is the session that was left when that is to go on, else a new one.
    """
    left, loaded = wanted.left, wanted.loaded
    remarks = [wanted.remark] if wanted.remark else []
    if opening.goes_on and left is not None and left.log.opened is not None:
        return open_again(wanted.means(player, left.log.opened.speed), left), remarks
    if loaded is None:
        raise BadInput("nothing was left to go on with")
    means = wanted.means(player)
    if left is not None:
        try:
            close_unfinished(means, left)
        except BrokenSession as error:
            remarks.append(f"a session that was left stays open: {error}")
    return open_new(means, loaded, opening), remarks


def _plain(wanted: Wanted) -> int:
    from holdtimer.live.terminal import KeySource

    player, remarks = wanted.player()
    try:
        with KeySource(sys.stdin.fileno()) as keys:
            opening = _settled(wanted, keys)
            if not isinstance(opening, Opening):
                return opening
            run = _lead_plainly(wanted, keys, player, remarks, opening)
    finally:
        player.close()
    return rescued(run, run.exit_code())


def _settled(wanted: Wanted, keys: "KeySource") -> Opening | int:
    """Ask what is to be asked before the session; an exit code where there is to be none today."""
    from holdtimer.live.plain import asks
    from holdtimer.live.terminal import Leave

    asking = before_run(wanted.request)
    answer: str | None = None
    while True:
        try:
            words = next(asking) if answer is None else asking.send(answer)
        except StopIteration as end:
            return end.value if end.value is not None else exits.STOPPED
        given = asks(keys, words)
        if isinstance(given, Leave):
            return _unanswered(given)
        answer = given


def _lead_plainly(
    wanted: Wanted, keys: "KeySource", player: Player, remarks: list[str], opening: Opening
) -> Run:
    from holdtimer.live.plain import PlainSession, say

    opened, more = open_wanted(wanted, player, opening)
    with opened:
        for remark in [*remarks, *more]:
            say(f"note: {remark}")
        PlainSession(opened.driver, keys).run(opened.begin)
    for line in summary(wanted, opened):
        say(line)
    return opened


def summary(wanted: Wanted, run: Run) -> list[str]:
    """Return what came of a session that is closed, in words; nothing where it was only left."""
    session = run.driver.engine.session
    if session.opened is None or session.left is not None:
        return []
    try:
        log = find_session(wanted.data, wanted.person, session.opened.session)
    except NoSuchSession:
        return []  # nothing of it could be written
    found = told(wanted.data, wanted.person, log)
    return list(found.lines()) if found is not None else []


def _unanswered(leave: "Leave") -> int:
    if leave.reason == "end-of-input":
        raise BadInput("the input ended before an answer; nothing was begun")
    return LEFT_EXIT[leave.reason]


def _full_screen(wanted: Wanted) -> int:
    from holdtimer.cli.full_screen import lead

    return lead(wanted)
