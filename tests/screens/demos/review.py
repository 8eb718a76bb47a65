"""The review: sessions, one session, one set with what a change makes of what is due, one exercise."""

import tempfile
from datetime import timedelta
from functools import cache
from pathlib import Path

from holdtimer.files import programs_folder
from holdtimer.live.review import Review
from holdtimer.program.loading import load
from holdtimer.screens.review.sessions import ReviewApp
from tests.invented import evenings
from tests.invented.evenings import write_evenings
from tests.invented.six_weeks import FIRST, PERSON, six_weeks, write_logs


@cache
def folder():
    """A data folder with six invented weeks."""
    data = Path(tempfile.mkdtemp())
    write_logs(data, six_weeks(load(programs_folder() / "chair-and-counter.toml")))
    return data


class Asked(ReviewApp):
    """A review with some keys pressed on it."""

    def __init__(self, review, *keys):
        super().__init__(review)
        self._keys = keys

    async def arrange(self, pilot):
        await quiet(self, pilot)
        for key in self._keys:
            await pilot.press(key)
            await quiet(self, pilot)


def reviewed(*keys):
    """The review of six invented weeks."""
    program = load(programs_folder() / "chair-and-counter.toml").program
    return Asked(
        Review(folder(), PERSON, lambda: [program], lambda: FIRST + timedelta(weeks=6, hours=1)), *keys
    )


async def quiet(app, pilot):
    """Wait until all that was begun is done and shown."""
    await pilot.pause()
    while getattr(app.screen, "is_working_out", False):
        await pilot.pause(0.01)
    for _ in range(3):
        running = [each for each in app.workers if not each.is_finished and each.group != "ask"]
        if running:  # of none, all would be waited for
            await app.workers.wait_for_complete(running)
        await pilot.pause()


def demo_sessions():
    return reviewed("down", "down")


def demo_date():
    return reviewed("slash", *"13 apr")


def demo_session():
    return reviewed("enter", "down")


def demo_set():
    return reviewed("enter", "enter")


def demo_moved():
    return reviewed("enter", "enter", *["left"] * 30)


def demo_typed():
    return reviewed("enter", "enter", "a")


def demo_on_hold():
    data = Path(tempfile.mkdtemp())
    write_evenings(data, [(70,), (70,)], reason="symptom", scope="session")
    return Asked(Review(data, evenings.PERSON, now=lambda: evenings.FIRST + timedelta(days=5)), "h")


def demo_exercise():
    return reviewed("enter", *["down"] * 3, "enter", "t")


def demo_remarks():
    """A session whose remarks go on below."""
    return reviewed(*["down"] * 6)
