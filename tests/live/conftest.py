"""What the tests of a running session share: one with everything around it faked, and a real terminal."""

import contextlib
import os

import pytest

from holdtimer.live.clock import Heartbeat
from holdtimer.live.driver import Driver
from holdtimer.log.clocks import Reading
from holdtimer.program.compiling import compile_script
from holdtimer.program.loading import loads
from holdtimer.session.engine import Engine
from holdtimer.session.fold import fold
from tests.hand_clock import HandClock
from tests.invented.programs import SHORT_HALL
from tests.invented.recording import RecordingPlayer
from tests.live.stage import Stage, Terminal, Written, played_together


@pytest.fixture(scope="session")
def hall_text():
    """A program with short windows: 10 s after a count-in of 3 s, the band from 5 to 9 s."""
    return SHORT_HALL


@pytest.fixture
def pipe():
    """Both ends of a pipe, which a test may close: the one to read from first."""
    reading, writing = os.pipe()
    yield reading, writing
    for fd in (reading, writing):
        with contextlib.suppress(OSError):
            os.close(fd)


@pytest.fixture
def hall(tmp_path):
    """The same as a file."""
    path = tmp_path / "hall.toml"
    path.write_text(SHORT_HALL)
    return path


@pytest.fixture(scope="session")
def terminals():
    """Start runs in terminals of their own; what still runs at the end is killed."""
    started = []

    def start(*args, **more):
        started.append(Terminal([str(arg) for arg in args], **more))
        return started[-1]

    yield start
    for each in started:
        each.close()


@pytest.fixture(scope="session")
def written_class():
    """Read the only log of a data folder while it is written."""
    return Written


@pytest.fixture(scope="session")
def together(tmp_path_factory, terminals):
    """Play scenarios of a program's text, each on a stage of its own, all at the same time."""

    def together(scenarios, text):
        folder = tmp_path_factory.mktemp("stages")
        program = folder / "hall.toml"
        program.write_text(text)
        return played_together(scenarios, lambda name: Stage(terminals, folder / name, program))

    return together


# -- a session with everything around it faked ------------------------------------------------------------

ALL_AT_ONCE = Reading(1_000_000_000_000, 2_000_000_000_000, "2026-11-25T09:07:38.250Z", 0, "UTC", "boot")


class FakeLog:
    """A log in memory; while it `hangs` nothing more is written."""

    def __init__(self, order):
        self.events = []
        self.waits = []
        self.hangs = False
        self.in_trouble = None
        self.written = self.saved = 0
        self._order = order

    @property
    def handed_in(self):
        return len(self.events)

    def append(self, event):
        self.events.append(event)
        self._order.append(("written", event.ev))
        if not self.hangs:
            self.written = self.saved = len(self.events)

    def wait_written(self, timeout):
        self.waits.append(timeout)
        return self.written >= self.handed_in

    def trouble(self):
        return self.in_trouble

    def recover(self):
        self.hangs, self.in_trouble = False, None
        self.written = self.saved = len(self.events)


class OrderedPlayer(RecordingPlayer):
    def __init__(self, order):
        super().__init__()
        self._order = order

    def schedule(self, sound, at):
        super().schedule(sound, at)
        self._order.append(("heard", sound.value))


class Machine:
    """The clocks of a machine that is moved by hand: it can sleep, and a program on it stand still."""

    def __init__(self, clock):
        self.clock = clock
        self.slept = 0.0

    def boottime(self):
        return self.clock.time / self.clock.speed + self.slept

    def mono(self):
        return self.clock.time / self.clock.speed

    def anchor(self):
        mono, boot = round(self.mono() * 1e9), round(self.boottime() * 1e9)
        return ALL_AT_ONCE._replace(mono_ns=mono, boottime_ns=boot)


class Faked:
    """A driver with a clock moved by hand, a log and a player that remember, and what came in which order."""

    def __init__(self, timeline, speed=1.0, past=(), speech=None, tries_key=False):
        self.order = []
        self.clock = HandClock(speed=speed)
        self.machine = Machine(self.clock)
        self.log = FakeLog(self.order)
        self.player = OrderedPlayer(self.order)
        self.heartbeat = Heartbeat(self.machine.boottime, self.machine.mono)
        self.engine = Engine(timeline, past=fold(past), tries_key=tries_key)
        self.driver = Driver(
            self.engine, self.clock, self.log, self.player, self.machine.anchor, self.heartbeat, speech
        )
        self.driver.listen(lambda new: self.order.extend(("seen", event.ev) for event in new))
        self.start = self.clock.time

    def begin(self):
        self.driver.begin({"session": "s", "person": "Ada", "program": "hall", "script": "A"})
        return self

    def go(self, t, every=0.05):
        """Let time go on to `t` seconds of the session, ticking all the while."""
        while self.t < t - 1e-9:
            self.clock.time = min(self.clock.time + every, self.start + t)
            self.heartbeat.beat()
            self.driver.tick()
        return self

    def press(self, key="space", at=None):
        moment = self.clock.time if at is None else self.start + at
        self.driver.key(key, moment / self.clock.speed)
        return self

    def window(self):
        """Go on into the open window, 0.5 s after it opened."""
        self.begin().go(2).press()
        return self.go(5.5)

    @property
    def t(self):
        return self.clock.time - self.start

    @property
    def names(self):
        return [event.ev for event in self.log.events]

    def of(self, name):
        return [event for event in self.log.events if event.ev == name]

    def due(self):
        """The sounds still to come, as (seconds of the session, sound)."""
        ahead = [
            (round(at - self.start, 3), sound) for sound, at in self.player.scheduled if at > self.clock.time
        ]
        return sorted(ahead)


def _timeline(script, text=SHORT_HALL):
    return compile_script(loads(text, "hall.toml").program, script)


@pytest.fixture
def faked():
    """A session of one set."""
    return Faked(_timeline("A"))


@pytest.fixture
def faked_twice():
    """A session of two sets."""
    return Faked(_timeline("B"))


@pytest.fixture
def faked_at():
    """Build a session of another script or text, at another speed, after `past` events, or with `speech`."""
    return lambda script="A", text=SHORT_HALL, **more: Faked(_timeline(script, text), **more)
