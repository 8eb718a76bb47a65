"""A run as plain lines."""

import sys
from argparse import Namespace

import wakepy

from holdtimer.cli.fallback_save import answers_saved, finish_run
from holdtimer.cli.run_request import HeldRun, held_run
from holdtimer.errors import BadInputError, ExitCode, NoSuchSessionError
from holdtimer.live.answers import AnswerBook, Debrief
from holdtimer.live.debrief import PlainDebrief
from holdtimer.live.plain import PlainSession, ask_page, say
from holdtimer.live.preflight import preflight
from holdtimer.live.setup import LEFT_EXIT, Opening, Run
from holdtimer.live.terminal import KeySource, Leave
from holdtimer.log.clocks import local_now
from holdtimer.log.reader import find_session
from holdtimer.report.pages import PageText
from holdtimer.report.session import session_report
from holdtimer.sound.player import Player


class _LeftError(Exception):
    """The program is to end while a page waits for its answer."""

    def __init__(self, leave: Leave) -> None:
        self.leave = leave


def lead_plainly(args: Namespace) -> int:
    """Lead one session as lines of text and return how it ended."""
    with held_run(args) as held:
        player, remarks = held.player()
        try:
            with wakepy.keep.presenting(on_fail=lambda *_: None), KeySource(sys.stdin.fileno()) as keys:
                opening = _questions(held, keys)
                if opening is None:
                    return ExitCode.STOPPED
                run, book = _session(held, keys, player, remarks, opening)
        except _LeftError as left:
            return LEFT_EXIT.get(left.leave.reason, ExitCode.STOPPED)
        finally:
            player.close()
        code = finish_run(run, args, run.exit_code())
        return code if book is None else answers_saved(book, code)


def _questions(held: HeldRun, keys: KeySource) -> Opening | None:
    async def ask(page: PageText) -> str:
        answer = ask_page(keys, page, held.request.settings)
        if not isinstance(answer, Leave):
            return answer
        if answer.reason == "end-of-input":
            raise BadInputError("the input ended before an answer; no session was started")
        raise _LeftError(answer)

    questions = preflight(held.request, local_now(), ask)
    try:
        questions.send(None)  # to its end at once: nothing in it waits but a key
    except StopIteration as end:
        opening: Opening | None = end.value
        return opening
    raise AssertionError("a question waited for something else")


def _session(
    held: HeldRun, keys: KeySource, player: Player, remarks: list[str], opening: Opening
) -> tuple[Run, AnswerBook | None]:
    run, more = held.open(player, opening)
    with run:
        for remark in [*remarks, *more]:
            say(f"note: {remark}")
        session = PlainSession(run.driver, keys, opening.last)
        session.run(run.begin)
    _summary(held, run)
    session.hear_out()
    return run, _debrief(held, keys, run) if keys.is_terminal else None


def _debrief(held: HeldRun, keys: KeySource, run: Run) -> AnswerBook | None:
    """Ask about the sets of a session that is closed; not whoever stopped because something feels wrong."""
    session = run.driver.engine.session
    if session.opened is None or session.left is not None or session.stopped == "symptom":
        return None
    debrief = Debrief(held.request.data, session)
    try:
        PlainDebrief(keys, debrief, held.request.settings).run()
    finally:
        debrief.book.close()
    return debrief.book


def _summary(held: HeldRun, run: Run) -> None:
    """Print what came of a session that is closed; nothing where it was only left."""
    session = run.driver.engine.session
    if session.opened is None or session.left is not None:
        return
    data, person = held.request.data, held.request.person
    try:
        report = session_report(data, person, find_session(data, person, session.opened.session))
    except NoSuchSessionError:
        return  # nothing of it could be written
    for line in report.lines() if report is not None else ():
        say(line)
