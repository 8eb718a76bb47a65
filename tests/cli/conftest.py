"""What the tests of the commands share: a way to call them, and sessions done in no time."""

import json
import os
import subprocess
import sys
import threading
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import pytest

from holdtimer.cli import main
from holdtimer.live.driver import Driver
from holdtimer.log.clocks import take_anchor
from holdtimer.log.folder import new_session_id, plain_name, session_folder
from holdtimer.log.writer import LogWriter
from holdtimer.program.compiling import compile_script
from holdtimer.program.loading import loads
from holdtimer.session.engine import Engine
from holdtimer.sound.player import OffPlayer
from tests.live.hand_clock import HandClock

HALL = """\
format = 1
id = "hall"
title = "Village hall"

[defaults]
window_s = 60
band_s = [30, 60]
final_s = 20
count_in_s = 3
rest_s = 0

[exercises.wall-sit]
name = "Wall sit"
kind = "hold"
sides = "both"
failure = "You slide down."
way_out = "Hands on the chair, stand up."
back_in = "Slide down again."
ladder = ["high", "half way", "low"]
start = "half way"

[[scripts]]
id = "A"
title = "Legs"
steps = [{exercise = "wall-sit"}]
"""


@dataclass
class Said:
    """What a command answered."""

    code: int
    out: str
    err: str

    @property
    def json(self):
        return json.loads(self.out)


@pytest.fixture(autouse=True)
def _own_settings(tmp_path, monkeypatch):
    """No settings and no logs of whoever runs the tests."""
    monkeypatch.setenv("HOLDTIMER_CONFIG", str(tmp_path / "no-config.toml"))
    monkeypatch.setenv("HOLDTIMER_DATA", str(tmp_path / "data"))


@pytest.fixture
def data(tmp_path):
    return tmp_path / "data"


@pytest.fixture
def hall(tmp_path):
    path = tmp_path / "hall.toml"
    path.write_text(HALL)
    return path


@pytest.fixture
def call(capsys):
    """Run a command in this process."""

    def call(*args):
        try:
            code = main([str(arg) for arg in args])
        except SystemExit as end:
            code = end.code
        told = capsys.readouterr()
        return Said(code, told.out, told.err)

    return call


@pytest.fixture
def process(tmp_path):
    """Run a command in a process of its own, its input what is given."""

    def process(*args, keys=b"", env=None, **more):
        done = subprocess.run(
            [sys.executable, "-m", "holdtimer", *map(str, args)],
            input=keys,
            capture_output=True,
            env={**os.environ, **(env or {})},
            timeout=60,
            **more,
        )
        return Said(done.returncode, done.stdout.decode(), done.stderr.decode())

    return process


@pytest.fixture
def trained(data):
    """Do a session in no time, `ago_s` seconds ago, and return the path of its log.

    Taps are at seconds of its window; it is broken off `until` seconds into it.
    """

    def trained(*taps, person="Ada", text=HALL, until=None, speed=1.0, session=None, ago_s=0, **changes):
        clock = HandClock(speed=speed)
        session = session or new_session_id(datetime.now(UTC))
        folder = session_folder(data, person, rehearsal=speed != 1)
        log = LogWriter(folder, session)
        timeline = compile_script(loads(text, "hall.toml").program)

        def anchor():
            wall = datetime.now(UTC) - timedelta(seconds=ago_s)
            return take_anchor()._replace(mono_ns=round(clock.time / speed * 1e9), wall=wall.isoformat())

        driver = Driver(Engine(timeline), clock, log, OffPlayer(), anchor)
        rungs = [{"exercise": s.exercise, "side": s.side, "rung": s.rung.name} for s in timeline.sets]
        about = {
            "session": session,
            "person": plain_name(person),
            "program": timeline.program,
            "script": timeline.script,
        }
        driver.begin(about | {"program_text": text, "rungs": rungs} | changes)
        start = clock.time
        opens = 2 + timeline.sets[0].count_in_s
        pressed = [2.0, *(opens + tap for tap in taps)]
        for t in (*pressed, opens + (until or 70)):
            while clock.time < start + t - 1e-9 and not driver.is_done:
                clock.time = min(clock.time + 0.25, start + t)
                driver.tick()
            if t in pressed:
                driver.key("space", clock.time / speed)
        assert log.close(10)
        return log.path

    return trained


WATCHED_S = 40.0  # a run that answers no more is killed then


class Plain:
    """A plain run in a process of its own, led through pipes."""

    def __init__(self, *args, code=None, prepare=None):
        program = ["-c", code] if code else ["-m", "holdtimer"]
        self.process = subprocess.Popen(
            [sys.executable, *program, *map(str, args)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            preexec_fn=prepare,
        )
        self.lines = []
        self._watch = threading.Timer(WATCHED_S, self.process.kill)
        self._watch.daemon = True
        self._watch.start()

    def until(self, part):
        """Read lines until one has this in it, and return that one."""
        for line in self.process.stdout:
            self.lines.append(line.decode().rstrip("\n"))
            if part in self.lines[-1]:
                return self.lines[-1]
        raise AssertionError(f"{part!r} is not in {self.lines}, {self.process.stderr.read()}")

    def press(self, keys=b" "):
        self.process.stdin.write(keys)
        self.process.stdin.flush()

    def end(self, closes_input=False):
        """Return how it ended."""
        if closes_input:
            self.process.stdin.close()
        self.lines += self.process.stdout.read().decode().splitlines()
        err = self.process.stderr.read().decode()
        self._watch.cancel()
        return Said(self.process.wait(), "\n".join(self.lines), err)

    def let_go(self):
        self._watch.cancel()
        self.process.kill()
        for stream in (self.process.stdin, self.process.stdout, self.process.stderr):
            with suppress(BrokenPipeError):
                stream.close()
        self.process.wait()


@pytest.fixture
def plain():
    """Start a plain run; what still runs at the end of the test is killed."""
    started = []

    def start(*args, **more):
        started.append(Plain(*args, **more))
        return started[-1]

    yield start
    for each in started:
        each.let_go()
