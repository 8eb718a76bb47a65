import asyncio
import os
import signal
import sys
import termios
import threading

import pytest
from textual import events
from textual.app import App

from holdtimer.errors import ExitCode
from holdtimer.live.terminal import Modes
from holdtimer.screens.review import terminal
from holdtimer.screens.review.sessions import ReviewApp
from holdtimer.screens.review.terminal import ReviewTerminal
from holdtimer.session.events import MAX_TEXT

WAIT_S = 10


class TheApp:
    """What of the app the terminal asks for."""

    def __init__(self):
        self.code = None
        self.has_ended, self.is_drawn = asyncio.Event(), asyncio.Event()

    def exit(self, code, return_code):
        self.code = code
        self.has_ended.set()

    def refresh(self):
        self.is_drawn.set()


class Reading(ReviewTerminal):
    """The terminal, with what it has read."""

    def __init__(self, fd):
        super().__init__(TheApp(), mouse=False)
        self.fileno, self.came, self.changed = fd, [], threading.Event()

    def process_message(self, message):
        self.came.append(message)
        self.changed.set()

    def keys_until(self, last):
        while not any(isinstance(each, events.Key) and each.key == last for each in list(self.came)):
            assert self.changed.wait(WAIT_S), self.came
            self.changed.clear()


@pytest.fixture
def tty():
    handlers = {number: signal.getsignal(number) for number in (signal.SIGTSTP, signal.SIGCONT)}
    master, slave = os.openpty()
    attributes = termios.tcgetattr(slave)
    attributes[3] &= ~(termios.ICANON | termios.ECHO | termios.ISIG)
    termios.tcsetattr(slave, termios.TCSANOW, attributes)
    yield master, slave
    os.close(slave)
    for number, handler in handlers.items():
        signal.signal(number, handler)


def test_whatever_bytes_come_the_next_key_is_read_and_a_terminal_that_is_gone_ends_it(tty, monkeypatch):
    monkeypatch.setattr(terminal, "_LOOK_S", 0.01)
    monkeypatch.setattr(terminal, "_SILENT_S", 0.02)
    master, slave = tty

    async def story():
        reading = Reading(slave)
        thread = threading.Thread(target=reading.run_input_thread, daemon=True)
        thread.start()
        strange = [b"\xff\xfe", b"\x1b[M \xf0\xf1", b"\x1b[9999999u", b"\x1b[55296u", b"\x1b[200~some text"]
        for key, each in zip("abcde", strange, strict=True):
            os.write(master, each)
            await asyncio.sleep(0.1)  # a paste is over once it is silent
            os.write(master, key.encode())
            await asyncio.to_thread(reading.keys_until, key)
        os.close(master)
        await asyncio.wait_for(reading._app.has_ended.wait(), WAIT_S)
        thread.join(WAIT_S)
        return reading._app.code

    assert asyncio.run(story()) == ExitCode.HANG_UP


def test_after_a_stop_the_terminal_is_set_and_drawn_again(tty):
    _, slave = tty
    ours = termios.tcgetattr(slave)

    class Writer:
        def write(self, text):
            written.append(text)

    written = []

    async def story():
        reading = Reading(slave)
        reading._ours, reading._writer_thread = Modes(slave), Writer()
        shells = termios.tcgetattr(slave)
        shells[3] |= termios.ICANON | termios.ECHO
        termios.tcsetattr(slave, termios.TCSANOW, shells)
        signal.raise_signal(signal.SIGCONT)
        await asyncio.wait_for(reading._app.is_drawn.wait(), WAIT_S)

    asyncio.run(story())
    assert termios.tcgetattr(slave) == ours
    assert "\x1b[?1049h" in "".join(written)


def test_of_a_flood_no_more_letters_are_taken_than_a_text_can_have_but_every_other_key(tty, monkeypatch):
    given = iter([b"z" * 3000, b"z" * 3000 + b"\x1b[A", b"", b"z", None])
    monkeypatch.setattr(Reading, "_read", lambda _: next(given))
    monkeypatch.setattr(Reading, "_later", lambda *_: None)
    reading = asyncio.run(made(tty[1]))
    reading.run_input_thread()
    assert [each.key for each in reading.came] == ["z"] * MAX_TEXT + ["up", "z"]


async def made(fd):
    return Reading(fd)


def test_where_textual_has_moved_what_is_private_its_own_terminal_is_used(monkeypatch):
    assert ReviewApp(None).driver_class is ReviewTerminal
    monkeypatch.delitem(sys.modules, "holdtimer.screens.review.terminal")
    monkeypatch.setitem(sys.modules, "textual._xterm_parser", None)
    assert ReviewApp(None).driver_class is App().driver_class
