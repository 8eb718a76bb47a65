"""The full-screen session: which screens follow each other."""

import sys
from typing import cast

import wakepy

from holdtimer.cli import exits
from holdtimer.cli.run import Wanted, is_first_run, open_wanted
from holdtimer.live.clock import SteadyClock
from holdtimer.live.opening import RESUME_WITHIN_S, Run
from holdtimer.screens.app import HoldtimerApp
from holdtimer.screens.pages import cautions_page, left_page, summary_page, symptom_page
from holdtimer.screens.session import SessionScreen
from holdtimer.session.events import LeaveReason
from holdtimer.sound.choosing import choose
from holdtimer.sound.player import Player


def lead(wanted: Wanted) -> int:
    """Lead one session on the full screen and return how it ended."""
    app = HoldtimerApp(lambda app: _story(app, wanted, player, remarks))
    clock = SteadyClock(wanted.speed)
    player, remarks = choose(
        wanted.args.sound, clock.now, speed=wanted.speed, write=lambda _: app.call_from_thread(app.ring)
    )
    try:
        with wakepy.keep.presenting(on_fail=lambda *_: None):
            code = app.run()
    finally:
        player.close()
    if app.fault:
        print(app.fault, file=sys.stderr)
        return exits.FAULT
    return code if code is not None else app.return_code or exits.STOPPED


async def _story(app: HoldtimerApp, wanted: Wanted, player: Player, remarks: list[str]) -> int:
    goes_on = wanted.args.resume
    if wanted.left is not None and not goes_on and wanted.left.age_s <= RESUME_WITHIN_S:
        goes_on = await app.push_screen_wait(left_page(wanted.left)) == "tap"
    if is_first_run(wanted):
        await app.push_screen_wait(cautions_page())
    with open_wanted(wanted, player, goes_on) as run:
        return await _session(app, run, remarks)


async def _session(app: HoldtimerApp, run: Run, remarks: list[str]) -> int:
    driver = run.driver

    def leave(why: str) -> None:
        driver.leave(cast("LeaveReason", why))
        run.end()

    app.leaving = leave
    said = (*remarks, *((run.remark,) if run.remark else ()))
    screen = SessionScreen(driver, {}, said, run.begin)
    await app.push_screen_wait(screen)
    app.leaving = None
    is_written = run.end()
    session = driver.engine.session
    if session.stopped == "symptom":
        await app.push_screen_wait(symptom_page())
    if session.left is None:
        await app.push_screen_wait(summary_page(session, driver.engine.timeline, is_written))
    return run.exit_code(is_written)
