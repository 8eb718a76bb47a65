"""Function tests on screen: the questions, the waiting at the line, the trial, and what it came to."""

import tempfile
from functools import cache
from pathlib import Path

from holdtimer.live.answers import Debrief
from holdtimer.program.compiling import compile_script
from holdtimer.program.loading import find, load
from holdtimer.screens.summary import SummaryScreen
from holdtimer.session import events as ev
from holdtimer.session.engine import Engine
from holdtimer.session.state import Tap
from tests.screens.demos.after import After
from tests.screens.demos.session import Stage


class Tested(Stage):
    """A stage with the tests of every four weeks."""

    def __init__(self, play):
        super().__init__("every-four-weeks", "T", play)

    def begin(self):
        """Go on to the first question of the first test."""
        self.wait(2)
        self.tap()
        self.wait(62)
        self.tap()
        self.wait(1)

    def answer_all(self, no=""):
        """Say yes to every question but one."""
        while self.driver.engine.session.question is not None:
            self.wait(2.5)
            put = self.driver.engine.session.question.question
            self.tap("backspace" if put == no else "space")
            self.wait(0.5)

    def at_the_line(self):
        self.begin()
        self.answer_all()
        self.wait(2)

    def at_go(self):
        self.at_the_line()
        self.tap()
        self.wait(5.5)

    def stands(self, count):
        for _ in range(count):
            self.wait(2.5)
            self.tap()


def demo_question():
    return Tested(lambda s: (s.begin(), s.wait(2)))


def demo_long_question():
    def play(s):
        s.begin()
        for _ in range(2):
            s.wait(2.5)
            s.tap()
        s.wait(2)

    return Tested(play)


def demo_at_the_line():
    return Tested(Tested.at_the_line)


def demo_go():
    return Tested(lambda s: (s.at_the_line(), s.tap(), s.wait(2.5)))


def demo_stands():
    return Tested(lambda s: (s.at_go(), s.stands(7), s.wait(1)))


def demo_count():
    return Tested(lambda s: (s.at_go(), s.stands(11), s.wait(12)))


def refused(name):
    """Say no to a question, and yes to those before it."""

    def play(s):
        s.begin()
        while s.driver.engine.session.question.question != name:
            s.wait(2.5)
            s.tap()
            s.wait(0.5)
        s.wait(2.5)
        s.tap("backspace")
        s.wait(1)

    return Tested(play)


def demo_not_today():
    return refused("well")


def demo_set_up():
    return refused("chair")


def demo_not_this_one():
    return refused("stand-with-hands")


def demo_next_test():
    return Tested(lambda s: (s.at_go(), s.stands(11), s.wait(7), s.tap(), s.wait(3)))


def walk(s):
    s.at_go()
    s.stands(3)
    for n in range(3):  # leave out what comes before the walk
        s.wait(6)
        for key in ("escape", *(["down"] if n == 0 else ["down", "down"]), "enter"):
            s.tap(key)
            s.wait(1)
    s.wait(310)
    s.tap()
    s.wait(1)
    s.answer_all()
    s.wait(2)
    s.tap()
    s.wait(11)


def back_at_the_line(s):
    walk(s)
    s.tap()
    s.wait(4)
    s.tap()
    s.wait(3)


def demo_walk():
    return Tested(walk)


def demo_back_at_the_line():
    return Tested(back_at_the_line)


def demo_kept_rest():
    return Tested(lambda s: (back_at_the_line(s), s.tap(), s.wait(3)))


@cache
def tested():
    """A session of all tests, each answered and done by one key; nobody confirms the last."""
    loaded = load(find("every-four-weeks"))
    engine = Engine(compile_script(loaded.program))
    about = {"session": "20260304T170000Z-00000000", "person": "Edda", "program": "every-four-weeks"}
    engine.record(ev.Opened, 0.0, **about, script="T", program_text=loaded.text)
    engine.record(ev.Anchor, 0.0, why="opening", mono_ns=0, wall="2026-03-04T17:00:00Z", offset_s=3600)
    now = 0.0
    while not engine.is_over(now) and now < 4000:
        now += 2.6
        engine.tick(now)
        trial = engine.session.open_trial
        is_last = trial is not None and trial.test == "up-and-go" and trial.ended_at is not None
        is_walking = trial is not None and not trial.counts and now - trial.opened_t < 8
        waits = engine.tap_meaning(now) in (Tap.NOTHING, Tap.NOT_YET, Tap.NOT_READY)
        if not (waits or is_last or is_walking):
            engine.press("space", now)
    engine.close(now, "finished")
    return engine.session


def demo_summary():
    return After(lambda: SummaryScreen("Done", Debrief(Path(tempfile.mkdtemp()), tested())))
