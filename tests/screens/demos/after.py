"""What comes after a session, and what is chosen before one: the summary, and pages of choices."""

import tempfile
from functools import cache
from pathlib import Path

from holdtimer.files import programs_folder
from holdtimer.live.answers import Debrief
from holdtimer.program.loading import load
from holdtimer.screens.app import HoldtimerApp
from holdtimer.screens.page import ChoicePage
from holdtimer.screens.summary import SummaryScreen
from holdtimer.session.fold import fold
from holdtimer.sound.player import steady
from tests.invented.six_weeks import six_weeks
from tests.screens.waiting import begun


@cache
def sessions():
    """The sessions of six invented weeks."""
    return six_weeks(load(programs_folder() / "chair-and-counter.toml"))


class After(HoldtimerApp):
    """One screen, once taps count, with some keys pressed on it."""

    def __init__(self, make, keys=()):
        super().__init__(self._story)
        self._make, self._keys = make, keys

    async def _story(self, _):
        await self.push_screen_wait(self._make())
        return 0

    async def arrange(self, pilot):
        await begun(pilot)
        for count, name in enumerate(self._keys):
            self.screen.press(name, steady() + 2 + count)
            await pilot.pause()
        await pilot.pause()


def _summary(*keys, number=7, notice=""):
    folder, session = Path(tempfile.mkdtemp()), fold(sessions()[number].events)
    return After(lambda: SummaryScreen("Done", Debrief(folder, session), notice), keys)


def demo_summary():
    return _summary()


def demo_marked():
    return _summary("down", "down", "down")


def demo_questions():
    return _summary("down", "down", "enter", "down", "down", "down", "right")


def demo_not_written():
    return _summary(notice="not all of it is in the log: see the words after this screen")


def demo_program():
    found = [load(path).program for path in sorted(programs_folder().glob("*.toml"))]
    titles, about = [each.title for each in found], [each.about for each in found]
    return After(lambda: ChoicePage("Which program?", titles, about=about))


def demo_person():
    return After(lambda: ChoicePage("Who trains?", ["Ada", "Edda", "Hanno", "Ilse"], 1), ("down",))
