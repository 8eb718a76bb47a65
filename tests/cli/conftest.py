"""What the tests of the commands share: a way to call them, and sessions done in no time."""

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
from tests.hand_clock import HandClock
from tests.invented.programs import HALL
from tests.running import Plain, Said, said


@pytest.fixture(autouse=True)
def _own_settings(tmp_path, monkeypatch):
    """No settings and no logs of whoever runs the tests."""
    monkeypatch.setenv("HOLDTIMER_CONFIG", str(tmp_path / "no-config.toml"))
    monkeypatch.setenv("HOLDTIMER_DATA", str(tmp_path / "data"))


@pytest.fixture(scope="package", autouse=True)
def own_home(tmp_path_factory):
    """Where what can't be written is saved by itself."""
    home = tmp_path_factory.mktemp("home")
    with pytest.MonkeyPatch.context() as patched:
        patched.setenv("HOME", str(home))
        patched.setenv("TMPDIR", str(home))
        yield home


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
def process():
    """Run a command in a process of its own, its input what is given."""
    return said


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
                clock.time = min(clock.time + 1.0, start + t)
                driver.tick()
            if t in pressed:
                driver.key("space", clock.time / speed)
        assert log.close(10)
        return log.path

    return trained


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
