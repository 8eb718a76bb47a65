"""The screens of a run, one after another."""

import asyncio
from argparse import Namespace
from collections.abc import Mapping
from contextlib import ExitStack
from functools import partial
from pathlib import Path

import wakepy

from holdtimer.cli.fallback_save import NO_HISTORY, answers_saved, finish_run, save_by_itself
from holdtimer.cli.run_request import HeldRun, held_run
from holdtimer.errors import ExitCode
from holdtimer.live.answers import AnswerBook, Debrief
from holdtimer.live.driver import run_session
from holdtimer.live.plain import say
from holdtimer.live.preflight import preflight
from holdtimer.live.setup import Opening, Run
from holdtimer.live.terminal import SessionKeys
from holdtimer.log.clocks import local_now
from holdtimer.report.pages import PageKind, PageText, symptom_page
from holdtimer.screens.app import HoldtimerApp
from holdtimer.screens.page import Page
from holdtimer.screens.session import SessionScreen
from holdtimer.screens.summary import SummaryScreen


class Flow:
    """One session: the questions before it, the session itself, and the summary.

    `answered` are questions that were answered before the run; they are not asked again.
    """

    def __init__(self, args: Namespace, answered: Mapping[PageKind, str] | None = None) -> None:
        self._args = args
        self._answered = dict(answered or {})
        self._run: Run | None = None
        self._book: AnswerBook | None = None
        self._unseen: Path | None = None  # the data folder of a session whose summary was not shown

    async def show(self, app: HoldtimerApp) -> int:
        """Run one session and return how it ended. Raises what makes it impossible."""
        with ExitStack() as inside:
            held = inside.enter_context(held_run(self._args))
            app.theme, app.settings = held.own.theme, held.request.settings
            player, remarks = await asyncio.to_thread(held.player, lambda _: app.ring_from_thread())
            inside.callback(player.close)
            inside.enter_context(wakepy.keep.presenting(on_fail=lambda *_: None))
            opening = await preflight(held.request, local_now(), partial(self._ask, app))
            if opening is None:
                return ExitCode.STOPPED
            self._run, more = held.open(player, opening)
            with self._run as run:
                await _session(app, held, run, opening, (*remarks, *more))
                await self._debrief(app, held, run)
                return run.exit_code()

    async def _ask(self, app: HoldtimerApp, page: PageText) -> str:
        if page.kind is not None and page.kind in self._answered:
            return self._answered.pop(page.kind)
        answer: str = await app.push_screen_wait(Page(page))
        return answer

    async def _debrief(self, app: HoldtimerApp, held: HeldRun, run: Run) -> None:
        """Show how the session went, and take the answers; where it is not saved, that comes first.

        Nothing here waits for a disk in the loop, which everything else that happens waits for.
        """
        saving = asyncio.create_task(asyncio.to_thread(lambda: run.end() or save_by_itself(run)))
        session = run.driver.engine.session
        if session.stopped == "symptom" and run.left in (None, "quit"):
            await app.push_screen_wait(Page(symptom_page()))
        is_kept = await saving
        if run.left is not None or run.is_unbegun:
            return
        if not is_kept:
            self._unseen = held.request.data
            return
        if session.stopped == "symptom" and not session.sets and not session.trials:
            return  # there is nothing to show beside what was just said
        debrief = await asyncio.to_thread(Debrief, held.request.data, session, (), run.elsewhere)
        self._book = debrief.book
        notice = NO_HISTORY if debrief.is_alone else ""
        if run.elsewhere is not None:
            notice = "saved elsewhere, not where it belongs: details follow after this screen"
        headline = "Done" if session.stopped is None else "Ended"
        if session.is_unfit and not session.sets and not session.trials:
            headline = "Not today"
        try:
            await app.push_screen_wait(SummaryScreen(headline, debrief, notice))
        finally:
            debrief.book.close()

    def finish(self, code: int) -> int:
        """Return the exit code once the terminal is given back: see that everything is written."""
        run = self._run
        code = code if run is None else finish_run(run, self._args, code)
        if run is not None and self._unseen is not None:
            for line in Debrief(self._unseen, run.driver.engine.session).report().lines():
                say(line)
        return code if self._book is None else answers_saved(self._book, code)


async def _session(
    app: HoldtimerApp, held: HeldRun, run: Run, opening: Opening, remarks: tuple[str, ...]
) -> None:
    """Show the session until it is closed or left; it runs in a thread of its own, whatever is shown."""
    screen = SessionScreen(run.driver, opening.last, remarks, held.own.layout == "far")

    def job(keys: SessionKeys) -> None:
        try:
            run_session(run.driver, keys, run.begin, screen.follow)
        finally:
            if not run.driver.is_closed:  # it was left, and the program is about to end
                run.end()

    await app.push_screen(screen)
    await app.run_job(job)
    screen.end()
