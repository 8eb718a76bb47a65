"""`run`: lead a session, on the full screen or as plain lines."""

import sys
from argparse import Namespace
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from holdtimer.cli import exits
from holdtimer.cli.faults import BadInput
from holdtimer.cli.places import Remembered, data_folder, person_named, remember
from holdtimer.live.clock import SteadyClock
from holdtimer.live.opening import RESUME_WITHIN_S, Means, Run, close_unfinished, open_again, open_new
from holdtimer.log.reading import Unfinished, read_person, unfinished
from holdtimer.script.compiling import find_script
from holdtimer.script.loading import Loaded, find, load
from holdtimer.session.events import NAMES
from holdtimer.sound.choosing import choose
from holdtimer.sound.off import OffPlayer
from holdtimer.sound.player import Player


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a run was asked for."""

    args: Namespace
    loaded: Loaded
    data: Path
    person: str
    speed: float
    left: Unfinished | None

    def means(self, player: Player) -> Means:
        """Return what the run works with."""
        return Means(self.data, self.person, SteadyClock(self.speed), player)


def run(args: Namespace) -> int:
    """Lead one session and return how it ended. Raises BadInput and what makes the session impossible."""
    if not args.plain and not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise BadInput("the full screen needs a terminal; --plain runs the same session as lines of text")
    loaded = load(find(args.program))
    find_script(loaded.program, args.script)
    data = data_folder(args)
    person = person_named(args, data)
    left = _left(data, person, args.speed != 1)
    wanted = Wanted(args, loaded, data, person, args.speed, left)
    if (args.resume or args.close) and left is None:
        raise BadInput(f"no session of {person} was left unfinished")
    if args.close:
        return _close(wanted)
    return _lead(wanted)


def _left(data: Path, person: str, is_rehearsal: bool) -> Unfinished | None:
    left = unfinished(data, person, datetime.now(UTC), rehearsals=is_rehearsal)
    return left if left is not None and left.log.rehearsal == is_rehearsal else None


def _close(wanted: Wanted) -> int:
    left = wanted.left
    if left is None:
        return exits.DONE
    is_written = close_unfinished(wanted.means(OffPlayer()), left)
    print(f"closed: {left.log.session}")
    return exits.DONE if is_written else exits.NOT_WRITTEN


def _lead(wanted: Wanted) -> int:
    code = _plain(wanted) if wanted.args.plain else _full_screen(wanted)
    remember(wanted.data, Remembered(wanted.person, wanted.args.program))
    return code


def open_wanted(wanted: Wanted, player: Player, goes_on: bool) -> Run:
    """Open the run: the session that was left when it is to go on, else a new one."""
    left = wanted.left
    if goes_on and left is not None and left.log.opened is not None:
        clock = SteadyClock(left.log.opened.speed)
        return open_again(Means(wanted.data, wanted.person, clock, player), left)
    means = wanted.means(player)
    if left is not None:
        close_unfinished(means, left)
    return open_new(means, wanted.loaded, wanted.args.script)


def is_first_run(wanted: Wanted) -> bool:
    """Whether this person never ran this program here."""
    logs = read_person(wanted.data, wanted.person, rehearsals=True, skip=NAMES - {"opened"})
    program = wanted.loaded.program.id
    return not any(log.opened is not None and log.opened.program == program for log in logs)


def _plain(wanted: Wanted) -> int:
    from holdtimer.live.plain import PlainSession, asks_to_go_on, say
    from holdtimer.report.words import cautions

    stdin = sys.stdin.fileno()
    goes_on = wanted.args.resume
    if wanted.left is not None and not goes_on and wanted.left.age_s <= RESUME_WITHIN_S:
        goes_on = asks_to_go_on(stdin, wanted.left)
    if is_first_run(wanted):
        for line in cautions():
            say(line)
    clock = SteadyClock(wanted.speed)
    player, remarks = choose(wanted.args.sound, clock.now, speed=wanted.speed)
    try:
        with open_wanted(wanted, player, goes_on) as opened:
            for remark in [*remarks, *([opened.remark] if opened.remark else [])]:
                say(f"note: {remark}")
            PlainSession(opened.driver, stdin).run(opened.begin)
            return opened.exit_code(opened.end())
    finally:
        player.close()


def _full_screen(wanted: Wanted) -> int:
    from holdtimer.cli.full_screen import lead

    return lead(wanted)
