"""The terminal under the full screen, a pseudo-terminal on the other side: keys, frames, and its end."""

import asyncio
import contextlib
import fcntl
import os
import select
import signal
import struct
import termios
import threading
import time

import pyte
import pytest
from textual.widgets import Input, Static

from holdtimer.live.terminal import Leave
from holdtimer.screens import terminal
from holdtimer.screens.app import HoldtimerApp, KeyedScreen

SIZE = (80, 24)
PATIENCE_S = 20
ON, OFF = b"\x1b[?1049h", b"\x1b[?1049l"


class Tty:
    """Both ends of a pseudo-terminal; what comes out is read only when it is asked for."""

    def __init__(self):
        self.master, self.slave = os.openpty()
        fcntl.ioctl(self.slave, termios.TIOCSWINSZ, struct.pack("HHHH", SIZE[1], SIZE[0], 0, 0))
        self.settings = termios.tcgetattr(self.slave)
        self.output = b""
        self.drawn = pyte.Screen(*SIZE)
        self._stream = pyte.ByteStream(self.drawn)

    def send(self, data):
        os.write(self.master, data)

    def read(self):
        while select.select([self.master], [], [], 0)[0]:
            data = os.read(self.master, 65536)
            self._stream.feed(data)
            self.output += data
        return self.output

    async def wait_for(self, text):
        """Read until this is on the screen."""
        until = time.monotonic() + PATIENCE_S
        while text not in self.screen():
            assert time.monotonic() < until, self.screen()
            await asyncio.sleep(0.02)

    def screen(self):
        self.read()
        return "\n".join(self.drawn.display)

    def close(self):
        for fd in (self.master, self.slave):
            with contextlib.suppress(OSError):
                os.close(fd)


@pytest.fixture
def tty(monkeypatch):
    tty = Tty()
    monkeypatch.setattr(terminal, "FILES", (tty.slave, tty.slave))
    monkeypatch.setattr("shutil.get_terminal_size", lambda *_, **__: SIZE)
    for name, value in (("TERM", "xterm-256color"), ("COLUMNS", "80"), ("LINES", "24")):
        monkeypatch.setenv(name, value)
    yield tty
    tty.close()


async def told(story, during):
    """Run an app that tells this story on that terminal; return the app, once it has ended."""
    app = HoldtimerApp(story)
    running = asyncio.create_task(app.run_async())
    try:
        await asyncio.wait_for(during(app), PATIENCE_S)
    except BaseException:
        app.exit()
        raise
    finally:
        await asyncio.wait_for(running, PATIENCE_S)
    return app


class Words(KeyedScreen):
    """Shows words, and remembers what was pressed."""

    def __init__(self):
        super().__init__()
        self.pressed = []
        self.words = Static("a line", markup=False)

    def compose(self):
        yield self.words

    def press(self, name, at):
        self.pressed.append((name, at))


async def test_keys_come_by_name_and_time_and_leaving_gives_the_terminal_back(tty):
    screen = Words()

    async def story(app):
        return await app.push_screen_wait(screen)

    async def during(app):
        while screen not in app.screen_stack:
            await asyncio.sleep(0.02)
        began = time.monotonic()
        tty.send(b" \x1b[A\xff\x1b[<0;3;3M\x1b[I")
        while len(screen.pressed) < 4:
            await asyncio.sleep(0.02)
        names, times = zip(*screen.pressed, strict=True)
        assert names == ("space", "up", "replacement_character", "pointer")
        assert began <= min(times) <= max(times) <= time.monotonic()
        tty.send(b"\x11")

    app = await told(story, during)
    assert app.fault is None
    assert app.return_code == 1
    assert termios.tcgetattr(tty.slave) == tty.settings
    assert tty.read().rfind(OFF) > tty.read().rfind(ON) >= 0


async def test_a_program_that_continues_takes_single_keys_again_whichever_thread_the_signal_comes_to(tty):
    def goes_on():
        """Return whether the terminal is set again before anything else wakes the program."""
        as_set = termios.tcgetattr(tty.slave)
        termios.tcsetattr(tty.slave, termios.TCSANOW, tty.settings)  # as a shell does
        (reader,) = (thread for thread in threading.enumerate() if thread.name == "keys")
        signal.pthread_kill(reader.ident, signal.SIGCONT)
        until = time.monotonic() + 1
        while termios.tcgetattr(tty.slave) != as_set and time.monotonic() < until:
            time.sleep(0.01)
        return termios.tcgetattr(tty.slave) == as_set

    async def story(app):
        return await app.push_screen_wait(Words())

    async def during(app):
        await tty.wait_for("a line")
        await asyncio.sleep(0.2)  # all is drawn, and nothing wakes it
        assert await asyncio.to_thread(goes_on)
        tty.send(b"\x11")

    assert (await told(story, during)).fault is None


async def test_a_stalled_terminal_holds_nothing_up_and_shows_what_holds_once_it_reads(tty, monkeypatch):
    monkeypatch.setattr(terminal, "LATE_S", 0.05)

    async def story(app):
        screen = Words()
        await app.push_screen(screen)
        await asyncio.wait_for(seen.wait(), PATIENCE_S)
        for n in range(100):
            screen.words.update(f"{n} " * 600)
            await asyncio.sleep(0.01)
        screen.words.update("after all")
        await asyncio.sleep(0.2)
        changed.set()
        await asyncio.Event().wait()

    seen, changed = asyncio.Event(), asyncio.Event()

    async def during(app):
        await tty.wait_for("a line")
        seen.set()
        await asyncio.wait_for(changed.wait(), PATIENCE_S)
        await tty.wait_for("after all")
        assert "99" not in tty.screen()
        tty.send(b"\x11")

    assert (await told(story, during)).fault is None


async def test_a_terminal_that_reads_nothing_is_given_back_in_time(tty):
    async def story(app):
        screen = Words()
        await app.push_screen(screen)
        await asyncio.wait_for(seen.wait(), PATIENCE_S)
        while True:
            screen.words.update(f"{time.monotonic()} " * 200)
            await asyncio.sleep(0.01)

    seen = asyncio.Event()

    async def during(app):
        await tty.wait_for("a line")
        seen.set()
        await asyncio.sleep(0.5)
        tty.send(b"\x11")

    await told(story, during)
    assert termios.tcgetattr(tty.slave) == tty.settings
    until = time.monotonic() + PATIENCE_S
    while not tty.read().endswith(OFF):
        assert time.monotonic() < until, tty.output[-200:]
        await asyncio.sleep(0.02)


async def test_text_is_typed_and_a_paste_is_nothing(tty):
    field = Input()

    class Typing(KeyedScreen):
        types_text = True

        def compose(self):
            yield field

    async def story(app):
        await app.push_screen(Typing())
        field.focus()
        await asyncio.Event().wait()

    async def during(app):
        while not field.has_focus:
            await asyncio.sleep(0.02)
        for data, value in (("aß b", "aß b"), ("\x7f", "aß "), ("\x1b[200~pasted\x1b[201~世", "aß 世")):
            tty.send(data.encode())
            while field.value != value:
                await asyncio.sleep(0.02)
        tty.send(b"\x11")

    assert (await told(story, during)).return_code == 1


async def test_a_job_takes_the_keys_itself_and_leaves_when_the_screen_fails(tty):
    came = []

    def job(keys):
        while not any(isinstance(each, Leave) for each in came):
            came.extend(keys.take(0.05))

    async def story(app):
        await app.push_screen(Words())
        await app.run_job(job)

    async def during(app):
        await tty.wait_for("a line")
        while not came:
            tty.send(b"a")
            await asyncio.sleep(0.05)
        app.call_later(lambda: 1 / 0)

    app = await told(story, during)
    assert isinstance(app.fault, ZeroDivisionError)
    assert came[0].name == "a"
    assert came[-1] == Leave("terminated")
    assert termios.tcgetattr(tty.slave) == tty.settings


async def test_a_terminal_that_is_gone_ends_it(tty):
    async def story(app):
        await app.push_screen_wait(Words())

    async def during(app):
        await tty.wait_for("a line")
        os.close(tty.slave)
        os.close(tty.master)

    assert (await told(story, during)).return_code == 128 + signal.SIGHUP
