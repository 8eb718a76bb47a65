"""The full-screen session: which screens follow each other."""

import sys

import wakepy

from holdtimer.cli import exits
from holdtimer.cli.rescue import rescued
from holdtimer.cli.run import Wanted, open_wanted
from holdtimer.live.before import before_run
from holdtimer.live.debrief import Debrief
from holdtimer.live.opening import Opening, Run
from holdtimer.report.pages import symptom_page
from holdtimer.screens.app import HoldtimerApp
from holdtimer.screens.page import Page
from holdtimer.screens.session import SessionScreen
from holdtimer.screens.summary import SummaryScreen
from holdtimer.session.events import LeaveReason
from holdtimer.session.state import Session
from holdtimer.sound.player import Player

SWITCH_S = 0.0005


def lead(wanted: Wanted) -> int:
    """Lead one session on the full screen and return how it ended. Raises what went wrong in it."""
    sys.setswitchinterval(SWITCH_S)  # painting holds up the thread that reads keys no longer than this
    player, remarks = wanted.player(lambda _: app.ring_from_thread())
    story = _Story(wanted, player, remarks)
    app = HoldtimerApp(story.tell, wanted.settings.theme)
    try:
        with wakepy.keep.presenting(on_fail=lambda *_: None):
            code = app.run()
    finally:
        player.close()
    if app.fault is not None:
        raise app.fault
    code = code if code is not None else app.return_code or exits.STOPPED
    return code if story.run is None else rescued(story.run, code)


class _Story:
    """One session told screen by screen."""

    def __init__(self, wanted: Wanted, player: Player, remarks: list[str]) -> None:
        self.run: Run | None = None
        self._wanted, self._player, self._remarks = wanted, player, remarks

    async def tell(self, app: HoldtimerApp) -> int:
        """Ask what is to be asked, lead the session, and return the exit code."""
        asking = before_run(self._wanted.request)
        answer: str | None = None
        while True:
            try:
                words = next(asking) if answer is None else asking.send(answer)
            except StopIteration as end:
                opening: Opening | None = end.value
                break
            answer = await app.push_screen_wait(Page(words))
        if opening is None:
            return exits.STOPPED
        self.run, more = open_wanted(self._wanted, self._player, opening)
        with self.run as run:
            return await self._session(app, run, opening, (*self._remarks, *more))

    async def _session(self, app: HoldtimerApp, run: Run, opening: Opening, remarks: tuple[str, ...]) -> int:
        driver = run.driver

        def leave(why: LeaveReason) -> None:
            driver.leave(why)
            run.end()

        app.leaving = leave
        is_far = self._wanted.settings.layout == "far"
        await app.push_screen_wait(SessionScreen(driver, opening.last, remarks, run.begin, is_far))
        app.leaving = None
        is_written = run.end()
        session = driver.engine.session
        if session.stopped == "symptom":
            await app.push_screen_wait(Page(symptom_page()))
        if session.left is None:
            await self._summary(app, session, is_written)
        return run.exit_code()

    async def _summary(self, app: HoldtimerApp, session: Session, is_written: bool) -> None:
        debrief = Debrief(self._wanted.data, session)
        notice = "" if is_written else "not all of it is in the log: see the words after this screen"
        headline = "Done" if session.stopped is None else "Ended"
        await app.push_screen_wait(SummaryScreen(headline, debrief, notice))
        debrief.close()
