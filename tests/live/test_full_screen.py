"""The full screen in real terminals: what ends it before, and without, a session; and on a console."""

import re
import time
from functools import partial

import pyte
import pytest

from tests.live.stage import CAUTIONS

LEAVE, INTERRUPT = b"\x11", b"\x03"
ALTERNATE_ON, ALTERNATE_OFF = b"\x1b[?1049h", b"\x1b[?1049l"
CONSOLE, SIZE = {"TERM": "linux", "COLORTERM": ""}, (100, 30)
COLOUR = re.compile(rb"\x1b\[(?:[0-9;]*;)?(?:3[0-8]|4[0-8]|9[0-7]|10[0-7])(?:;[0-9;]*)?m")
ON_EVERY_CONSOLE = set("·─│┌┐└┘█▼▲‾’“”…–")

pytestmark = pytest.mark.waits
SCENARIOS = {}


def scenario(function):
    SCENARIOS[function.__name__] = function
    return function


@scenario
def held_log(stage):
    stage.run()
    first = stage.terminal
    first.wait_for("tap: I have read this")
    stage.holder = first.process.pid
    stage.run(plain=False).end()
    first.send(LEAVE)
    return stage


@scenario
def spoilt_program(stage):
    spoilt = stage.data.with_name("spoilt.toml")
    text = stage.program.read_text().replace("way_out", "wayout").replace("window_s", "windows")
    spoilt.write_text(text)
    stage.program = spoilt
    return stage.run(plain=False).end()


@scenario
def nothing_to_resume(stage):
    return stage.run("--resume", plain=False).end()


def _left_at_the_first_page(stage, key):
    stage.run(plain=False).terminal.wait_for(CAUTIONS)
    stage.terminal.send(key)
    return stage.end()


SCENARIOS |= {
    "left at the first page": partial(_left_at_the_first_page, key=LEAVE),
    "interrupted at the first page": partial(_left_at_the_first_page, key=INTERRUPT),
}


def _with_a_bell(stage, waits):
    stage.run("--sound", "bell", plain=False).past_the_cautions()
    if waits:
        stage.terminal.wait_for("\x07")
    stage.terminal.send(LEAVE)
    return stage.end()


SCENARIOS |= {
    "a bell waited for": partial(_with_a_bell, waits=True),
    "a bell not waited for": partial(_with_a_bell, waits=False),
}


@scenario
def bare(stage):
    stage.terminal = stage.terminals(env={"HOLDTIMER_DATA": str(stage.data)})
    stage.terminal.wait_for("Strength for stairs")
    stage.terminal.send(LEAVE)
    return stage.end()


@scenario
def the_console(stage):
    stage.terminals = partial(stage.terminals, env=CONSOLE, size=SIZE)
    stage.open(plain=False)
    stage.in_work = seen_in_time(stage.terminal, lambda share: share > 0.9)
    stage.tap("failure")
    stage.out_of_work = seen_in_time(stage.terminal, lambda share: share < 0.1)
    stage.terminal.send(LEAVE)
    return stage.end()


def _without_a_screen(stage, *args):
    stage.terminal = stage.terminals(*args, "--data", stage.data, env={"TERM": "dumb"})
    return stage.end()


WITHOUT_A_SCREEN = {"today without a screen": (), "a run without a screen": ("run", "floor")}
SCENARIOS |= {
    name: lambda stage, args=args: _without_a_screen(stage, *args) for name, args in WITHOUT_A_SCREEN.items()
}


def reversed_share(output):
    screen = pyte.Screen(*SIZE)
    pyte.ByteStream(screen).feed(output)
    cells = [screen.buffer[row][column] for row in range(SIZE[1]) for column in range(SIZE[0])]
    return sum(cell.reverse for cell in cells) / len(cells)


def seen_in_time(terminal, is_right, patience_s=3.0):
    """Return the share of the screen that is in reverse, once it is right or was waited for in vain."""
    until = time.monotonic() + patience_s
    while not is_right(share := reversed_share(terminal.output)) and time.monotonic() < until:
        time.sleep(0.2)
    return share


@pytest.fixture(scope="module")
def stages(together, hall_text):
    """Every scenario, by name."""
    with together(SCENARIOS, hall_text) as played:
        yield played


def told_after(stage):
    """Return what was printed once the screen was given back."""
    terminal = stage.terminal
    assert terminal.settings_now() == terminal.settings
    before, _, after = terminal.output.rpartition(ALTERNATE_OFF)
    assert ALTERNATE_ON in before
    return after


def test_a_log_that_is_held_is_told_once_the_screen_is_given_back(stages):
    stage = stages("held_log")
    assert stage.code == 4
    assert f"held by process {stage.holder}".encode() in told_after(stage)


def test_a_spoilt_program_is_told_line_by_line(stages):
    stage = stages("spoilt_program")
    assert stage.code == 2
    told = told_after(stage)
    assert told.count(f"{stage.program}:".encode()) >= 2
    assert b"Traceback" not in told


def test_nothing_left_to_resume_is_bad_input(stages):
    stage = stages("nothing_to_resume")
    assert stage.code == 2
    assert b"no session of me to resume" in told_after(stage)


@pytest.mark.parametrize("name", ["left at the first page", "interrupted at the first page"])
def test_leaving_at_the_first_page_begins_nothing(stages, name):
    stage = stages(name)
    assert stage.code == 1
    told_after(stage)
    assert stage.names == []


@pytest.mark.parametrize("name", ["a bell waited for", "a bell not waited for"])
def test_the_terminals_own_bell_rings_and_holds_nothing_up(stages, name):
    stage = stages(name)
    assert stage.code == 1
    told_after(stage)


def test_bare_holdtimer_is_left_like_any_other(stages):
    stage = stages("bare")
    assert stage.code == 1
    told_after(stage)


def test_work_is_told_from_the_rest_without_a_colour(stages):
    stage = stages("the_console")
    assert COLOUR.search(stage.terminal.output) is None
    assert stage.in_work > 0.9
    assert stage.out_of_work < 0.1


def test_the_console_is_sent_no_sign_it_may_not_have(stages):
    signs = {sign for sign in stages("the_console").terminal.output.decode() if ord(sign) > 126}
    assert signs
    assert signs <= ON_EVERY_CONSOLE


@pytest.mark.parametrize("name", WITHOUT_A_SCREEN)
def test_a_terminal_without_a_screen_is_told_of_plain_lines(stages, name):
    stage = stages(name)
    assert stage.code == 2
    assert b"--plain" in stage.terminal.output
    assert b"\x1b" not in stage.terminal.output
