"""The full screen in real terminals that have few colours, none, or few signs."""

import re
import time
from dataclasses import dataclass
from functools import partial

import pyte
import pytest

SIZE = (100, 30)
TERMINALS = {
    "no colours wanted": {"NO_COLOR": "1"},
    "sixteen colours": {"TERM": "xterm", "COLORTERM": ""},
    "the console": {"TERM": "linux", "COLORTERM": ""},
}
COLOUR = re.compile(rb"\x1b\[(?:[0-9;]*;)?(?:3[0-8]|4[0-8]|9[0-7]|10[0-7])(?:;[0-9;]*)?m")
ON_EVERY_CONSOLE = set("·─│┌┐└┘█▼▲‾’“”…–")


@dataclass
class Shown:
    """What a terminal was sent: up to the tap at failure, and all of it."""

    in_work: bytes
    all: bytes


def played(stage, env):
    stage.terminals = partial(stage.terminals, env=env, size=SIZE)
    opens = stage.open(plain=False)
    time.sleep(max(0.0, opens + 2 - time.monotonic()))
    in_work = stage.terminal.output
    stage.tap(opens + 2)
    stage.written.wait_for("failure")
    time.sleep(1)
    shown = Shown(in_work, stage.terminal.output)
    stage.terminal.send(b"\x11")
    stage.end()
    return shown


@pytest.fixture(scope="module")
def shown(together, hall_text):
    scenarios = {name: partial(played, env=env) for name, env in TERMINALS.items()}
    with together(scenarios, hall_text) as ended:
        yield ended


def reversed_share(output):
    screen = pyte.Screen(*SIZE)
    pyte.ByteStream(screen).feed(output)
    cells = [screen.buffer[row][column] for row in range(SIZE[1]) for column in range(SIZE[0])]
    return sum(cell.reverse for cell in cells) / len(cells)


@pytest.mark.parametrize("terminal", TERMINALS)
def test_work_is_told_from_the_rest_without_a_colour(shown, terminal):
    seen = shown(terminal)
    assert COLOUR.search(seen.all) is None
    assert reversed_share(seen.in_work) > 0.9
    assert reversed_share(seen.all) < 0.1


def test_the_console_is_sent_no_sign_it_may_not_have(shown):
    signs = {sign for sign in shown("the console").all.decode() if ord(sign) > 126}
    assert signs
    assert signs <= ON_EVERY_CONSOLE


@pytest.mark.parametrize("args", [(), ("run", "floor")], ids=["today", "run"])
def test_a_terminal_without_a_screen_is_told_of_plain_lines(terminals, tmp_path, args):
    terminal = terminals(*args, "--data", tmp_path, env={"TERM": "dumb"})
    assert terminal.end() == 2
    assert b"--plain" in terminal.output
    assert b"\x1b" not in terminal.output
