"""A run on the full screen: which screens follow each other."""

import asyncio
from argparse import Namespace
from contextlib import ExitStack

import wakepy

from holdtimer.cli.fallback_save import answers_rescued, left_off
from holdtimer.cli.run_request import Wanted, open_wanted, wanted_run
from holdtimer.errors import ExitCode
from holdtimer.live.answers import AnswerBook, Debrief
from holdtimer.live.preflight import before_run
from holdtimer.live.setup import Opening, Run
from holdtimer.report.pages import symptom_page
from holdtimer.screens.app import HoldtimerApp
from holdtimer.screens.page import Page
from holdtimer.screens.session import SessionScreen
from holdtimer.screens.summary import SummaryScreen
from holdtimer.session.events import LeaveReason


class Story:
    """One session told screen by screen."""

    def __init__(self, args: Namespace) -> None:
        self._args = args
        self._run: Run | None = None
        self._book: AnswerBook | None = None

    async def tell(self, app: HoldtimerApp) -> int:
        """Lead one session and return how it ended. Raises what makes it impossible."""
        with ExitStack() as inside:
            wanted = inside.enter_context(wanted_run(self._args))
            app.theme = wanted.settings.theme
            player, remarks = await asyncio.to_thread(wanted.player, lambda _: app.ring_from_thread())
            inside.callback(player.close)
            inside.enter_context(wakepy.keep.presenting(on_fail=lambda *_: None))
            opening = await _settled(app, wanted)
            if opening is None:
                return ExitCode.STOPPED
            self._run, more = open_wanted(wanted, player, opening)
            with self._run as run:
                await _session(app, wanted, run, opening, (*remarks, *more))
                return await self._debrief(app, wanted, run)

    async def _debrief(self, app: HoldtimerApp, wanted: Wanted, run: Run) -> int:
        """Show what came of the session, and take what is answered to it; return the run's exit code."""
        is_written = run.end()
        session = run.driver.engine.session
        if session.stopped == "symptom":
            await app.push_screen_wait(Page(symptom_page()))
        if session.left is None:
            debrief = Debrief(wanted.data, session)
            self._book = debrief.book
            notice = "" if is_written else "not all of it is in the log: see the words after this screen"
            headline = "Done" if session.stopped is None else "Ended"
            try:
                await app.push_screen_wait(SummaryScreen(headline, debrief, notice))
            finally:
                debrief.book.close()
        return run.exit_code()

    def after(self, code: int) -> int:
        """Return what to end with, once the screen is given back: see that all of it is written."""
        code = code if self._run is None else left_off(self._run, self._args, code)
        return code if self._book is None else answers_rescued(self._book, code)


async def _settled(app: HoldtimerApp, wanted: Wanted) -> Opening | None:
    """Ask what is to be asked before the session; None for not today."""
    asking = before_run(wanted.request)
    answer: str | None = None
    while True:
        try:
            words = next(asking) if answer is None else asking.send(answer)
        except StopIteration as end:
            opening: Opening | None = end.value
            return opening
        answer = await app.push_screen_wait(Page(words))


async def _session(
    app: HoldtimerApp, wanted: Wanted, run: Run, opening: Opening, remarks: tuple[str, ...]
) -> None:
    """Show the session until it is closed or left."""
    driver = run.driver
    is_over = False

    def leave(why: LeaveReason) -> None:
        nonlocal is_over
        is_over = True
        driver.leave(why)
        run.end()

    def begin() -> None:
        if not is_over:  # the screen may come up after the program was told to leave
            run.begin()

    app.leaving = leave
    is_far = wanted.settings.layout == "far"
    await app.push_screen_wait(SessionScreen(driver, opening.last, remarks, begin, is_far))
    app.leaving = None
