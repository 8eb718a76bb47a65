"""A run as plain lines."""

import os
import sys
from argparse import Namespace
from functools import partial

import wakepy

from holdtimer.cli.fallback_save import NO_HISTORY, answers_saved, finish_run, save_by_itself
from holdtimer.cli.run_request import HeldRun, held_run
from holdtimer.errors import BadInputError, ExitCode
from holdtimer.live.answers import AnswerBook, Debrief
from holdtimer.live.debrief import PlainDebrief
from holdtimer.live.output import Output, printing_in_a_thread
from holdtimer.live.plain import PlainSession, ask_page, say
from holdtimer.live.preflight import preflight
from holdtimer.live.setup import Opening, Run
from holdtimer.live.terminal import LEFT_EXIT, KeySource, Leave
from holdtimer.log.clocks import local_now
from holdtimer.report.pages import PageText
from holdtimer.sound.player import Player
from holdtimer.sound.players import Write


class _LeftError(Exception):
    """The program is to end while a page waits for its answer."""

    def __init__(self, leave: Leave) -> None:
        self.leave = leave


def run_plainly(args: Namespace) -> int:
    """Run one session as lines of text and return how it ended."""
    book: AnswerBook | None = None
    with printing_in_a_thread() as lines, held_run(args) as held:
        player, remarks = held.player(_bell(lines))
        try:
            with wakepy.keep.presenting(on_fail=lambda *_: None), KeySource(sys.stdin.fileno()) as keys:
                if lines is not None:
                    lines.when_ended(partial(keys.leave, "hang-up"))
                opening = _questions(held, keys)
                if opening is None:
                    return ExitCode.STOPPED
                session, run = _session(held, keys, player, remarks, opening)
                is_kept = save_by_itself(run)
                if is_kept:
                    book = _after(held, keys, run, session)
        except _LeftError as left:
            return LEFT_EXIT.get(left.leave.reason, ExitCode.STOPPED)
        finally:
            player.close()
        code = finish_run(run, args, run.exit_code())
        if not is_kept and run.driver.is_closed:
            with KeySource(sys.stdin.fileno()) as keys:
                book = _after(held, keys, run)
        return code if book is None else answers_saved(book, code)


def _bell(lines: Output | None) -> Write | None:
    """Return how to ring the bell without waiting for a terminal that has stalled."""
    if lines is None or not os.isatty(lines.fd):
        return None
    return lambda text: lines.write(text.encode())


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
) -> tuple[PlainSession, Run]:
    run, more = held.open(player, opening)
    with run:
        for remark in [*remarks, *more]:
            say(f"note: {remark}")
        session = PlainSession(run.driver, keys, opening.last)
        session.run(run.begin)
    return session, run


def _after(held: HeldRun, keys: KeySource, run: Run, heard: PlainSession | None = None) -> AnswerBook | None:
    """Print how a closed session went, let it be `heard` out, and ask about its sets.

    Nobody is asked who stopped because something felt wrong, or whose session is lost.
    """
    session = run.driver.engine.session
    if run.left is not None or run.is_unbegun:
        return None
    if run.elsewhere is not None and run.is_written:
        say(f"note: not saved where it belongs, but in {run.writer.path}")
    debrief = Debrief(held.request.data, session, to=run.elsewhere)
    for line in debrief.report().lines():
        say(line)
    if debrief.is_alone:
        say(f"note: {NO_HISTORY}")
    if heard is not None:
        heard.hear_out()
    if not (keys.is_terminal and run.is_written) or session.stopped == "symptom":
        return None
    try:
        PlainDebrief(keys, debrief, held.request.settings).run()
    finally:
        debrief.book.close()
    return debrief.book
