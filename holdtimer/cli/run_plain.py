"""A run as plain lines."""

import sys
from argparse import Namespace

import wakepy

from holdtimer.cli.fallback_save import left_off
from holdtimer.cli.run_request import Wanted, open_wanted, wanted_run
from holdtimer.cli.show import told
from holdtimer.errors import BadInputError, ExitCode, NoSuchSessionError
from holdtimer.live.plain import PlainSession, asks, say
from holdtimer.live.preflight import before_run
from holdtimer.live.setup import LEFT_EXIT, Opening, Run
from holdtimer.live.terminal import KeySource, Leave
from holdtimer.log.reader import find_session
from holdtimer.sound.player import Player


def lead_plainly(args: Namespace) -> int:
    """Lead one session as lines of text and return how it ended."""
    with wanted_run(args) as wanted:
        return _lead(wanted, args)


def _lead(wanted: Wanted, args: Namespace) -> int:
    player, remarks = wanted.player()
    try:
        with wakepy.keep.presenting(on_fail=lambda *_: None), KeySource(sys.stdin.fileno()) as keys:
            opening = _settled(wanted, keys)
            if not isinstance(opening, Opening):
                return opening
            run = _session(wanted, keys, player, remarks, opening)
    finally:
        player.close()
    return left_off(run, args, run.exit_code())


def _settled(wanted: Wanted, keys: KeySource) -> Opening | int:
    """Ask what is to be asked before the session; an exit code where there is to be none today."""
    asking = before_run(wanted.request)
    answer: str | None = None
    while True:
        try:
            words = next(asking) if answer is None else asking.send(answer)
        except StopIteration as end:
            return end.value if end.value is not None else ExitCode.STOPPED
        given = asks(keys, words)
        if isinstance(given, Leave):
            return _unanswered(given)
        answer = given


def _session(wanted: Wanted, keys: KeySource, player: Player, remarks: list[str], opening: Opening) -> Run:
    opened, more = open_wanted(wanted, player, opening)
    with opened:
        for remark in [*remarks, *more]:
            say(f"note: {remark}")
        session = PlainSession(opened.driver, keys, opening.last)
        session.run(opened.begin)
    for line in _summary(wanted, opened):
        say(line)
    session.hear_out()
    return opened


def _summary(wanted: Wanted, run: Run) -> list[str]:
    """Return what came of a session that is closed, in words; nothing where it was only left."""
    session = run.driver.engine.session
    if session.opened is None or session.left is not None:
        return []
    try:
        log = find_session(wanted.data, wanted.person, session.opened.session)
    except NoSuchSessionError:
        return []  # nothing of it could be written
    found = told(wanted.data, wanted.person, log)
    return list(found.lines()) if found is not None else []


def _unanswered(leave: Leave) -> int:
    if leave.reason == "end-of-input":
        raise BadInputError("the input ended before an answer; nothing was begun")
    return LEFT_EXIT.get(leave.reason, ExitCode.STOPPED)
