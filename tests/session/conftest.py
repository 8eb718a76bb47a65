"""A session driven by hand: parts built in one line, time moved and keys pressed in seconds."""

from dataclasses import replace

import pytest

from holdtimer.program.timeline import Easy
from holdtimer.session import events as ev
from holdtimer.session.engine import Engine
from holdtimer.session.fold import fold
from holdtimer.session.results import results
from tests.invented.timelines import WALL_SIT, timeline_of


def _a_set(**changes):
    return replace(WALL_SIT, **changes)


def _an_easy(seconds=60, rest_s=0):
    return Easy(0, "March on the spot", seconds, rest_s=rest_s)


class Run:
    """One session, its events so far, and the hand on its clock."""

    def __init__(self, *parts, past=(), settings=None, **opened):
        self.timeline = timeline_of(*(parts or (WALL_SIT,)))
        self.settings = settings
        self.events = list(past)
        self.engine = Engine(self.timeline, settings, fold(past))
        self.now = self.session.t
        if not past:
            about = {"session": "s", "person": "Ada", "program": "chair", "script": "A"}
            self.took(self.engine.record(ev.Opened, 0.0, **about | opened))

    def took(self, new):
        self.events += new
        return [event.ev for event in new]

    def at(self, t, *keys, handled=None):
        """Let the clock go to `t`, then press `keys` there; the names of what came of it."""
        self.now = max(self.now, t)
        names = self.took(self.engine.tick(t))
        for key in keys:
            names += self.took(self.engine.press(key, t, handled))
        return names

    def late(self, pressed, handled, key="space"):
        """Let the clock go to `handled`, then take a key that was pressed before."""
        self.at(handled)
        return self.took(self.engine.press(key, pressed, handled))

    def backspace_twice(self, t):
        """Press Backspace at `t` and half a second later, and wait until it is sure."""
        return self.at(t, "backspace") + self.at(t + 0.5, "backspace") + self.at(t + 0.8)

    def gap(self, alive_at, now, seconds=60.0):
        self.now = now
        return self.took(self.engine.gap(alive_at, now, seconds))

    def resumed(self, now, cut=None):
        """Return the session as another process takes it up at `now`, from the first `cut` events."""
        other = Run(*self.timeline.parts, past=self.events[:cut], settings=self.settings)
        other.now = now
        other.took(other.engine.resume(now))
        return other

    def in_window(self):
        """Tap at 2 s, so that the first window opens; return when it does."""
        self.at(2, "space")
        opens = 2 + self.timeline.parts[0].count_in_s
        self.at(opens + 0.25)
        return opens

    @property
    def session(self):
        return self.engine.session

    @property
    def names(self):
        return [event.ev for event in self.events]

    @property
    def last(self):
        return self.events[-1]

    @property
    def set(self):
        """The set that was begun last."""
        return self.session.sets[-1]

    @property
    def stamps(self):
        return [(stamp.kind, stamp.at) for stamp in self.set.stamps]

    @property
    def results(self):
        return results(self.session)

    def only(self, name):
        """Return the one event of that name."""
        (found,) = [event for event in self.events if event.ev == name]
        return found


@pytest.fixture(scope="session")
def begin():
    """Open a session of these parts (one wall sit when none are given) at t = 0."""
    return Run


@pytest.fixture(scope="session")
def a_set():
    """Build a set: a wall sit, but for what is named."""
    return _a_set


@pytest.fixture(scope="session")
def an_easy():
    """Build timed easy movement."""
    return _an_easy
