"""Real runs on stage: a pseudo-terminal, and the log as it lies there.

Keys wait for what the one before did, so that how busy the machine is changes nothing.
"""

import contextlib
import fcntl
import json
import os
import re
import select
import signal
import struct
import termios
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

from tests.running import said, start

TAP = b" "
ENV = {"TERM": "xterm-256color", "HOLDTIMER_CONFIG": "/no-config.toml", "HOLDTIMER_TRACEBACK": "1"}
READ_LATE = {"HOME", "BAD_TEMP"}
INTERNAL_FAULT = 70
PATIENCE_S = 60.0  # a busy machine is waited for
NEW_SCREEN_S = 1.7  # a new screen takes no tap at first
ANSWERED_S = 3.0
TURNED_S = 0.5  # a page turns at once
CAUTIONS = "doctor|page 1 of"  # in plain lines or small letters, or where they are drawn
APART_S = 0.3  # between the starts of two sessions


@dataclass
class Terminal:
    """A real run in a pseudo-terminal of its own, or with pipes in place of one."""

    args: list[str]
    size: tuple[int, int] = (80, 24)
    env: dict[str, str] = field(default_factory=dict)
    limit: int | None = None  # bytes that a file may grow to
    code: str | None = None  # what is run in place of the program

    def __post_init__(self):
        self.master, self.slave = os.openpty()
        columns, rows = self.size
        fcntl.ioctl(self.slave, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        self.settings = termios.tcgetattr(self.slave)
        self.output = b""
        self.reading = threading.Event()  # cleared, it takes no more output
        self.reading.set()
        self._grown = threading.Condition()
        self._found_nothing = 0  # times that there was nothing to read
        own = {name: value for name, value in os.environ.items() if name not in ("COLUMNS", "LINES")}
        self.process = start(
            self.args,
            [self.slave] * 3,
            env=own | ENV | self.env,
            has_terminal=True,
            limit=self.limit,
            code=self.code,
            afresh=not self.env.keys() <= READ_LATE,  # the rest is read once, such as TERM
        )
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self):
        with contextlib.suppress(OSError, ValueError):
            while self.reading.wait():
                ready, _, _ = select.select([self.master], [], [], 0.1)
                if not self.reading.is_set():
                    continue
                data = os.read(self.master, 65536) if ready else b""
                with self._grown:
                    self.output += data
                    self._found_nothing += not data
                    self._grown.notify_all()

    def send(self, data):
        os.write(self.master, data)

    def wait_for(self, text, timeout=PATIENCE_S):
        """Return the match of a pattern in what was printed, once it is there."""
        pattern = re.compile(text.encode())
        with self._grown:
            found = self._grown.wait_for(lambda: pattern.search(self.output), timeout)
        assert found, f"{text!r} was not printed: {self.output[-2000:]!r}"
        return pattern.search(self.output)

    def end(self, timeout=PATIENCE_S):
        """Return the exit code, once the process has ended and all of its output is here."""
        code = self.process.wait(timeout)
        with self._grown:  # twice, as the first may have been before the end
            enough = self._found_nothing + 2
            self._grown.wait_for(
                lambda: self._found_nothing >= enough or not self._reader.is_alive(), timeout
            )
        assert code != INTERNAL_FAULT, self.output[-6000:].decode(errors="replace")
        return code

    def is_running(self):
        return self.process.poll() is None

    def hang_up(self):
        """Close the terminal, as when its window is closed."""
        master, self.master = self.master, -1
        self.reading.set()
        os.close(self.slave)
        self._reader.join()  # else it might read what is another's by then, under the same number
        os.close(master)
        self.slave = -1

    def settings_now(self):
        return termios.tcgetattr(self.slave)

    def set_as_before(self):
        """Set the terminal as a shell does that takes it back."""
        termios.tcsetattr(self.slave, termios.TCSANOW, self.settings)

    def close(self):
        if self.process.poll() is None:
            with contextlib.suppress(ProcessLookupError):
                self.process.send_signal(signal.SIGCONT)
            self.process.kill()
            self.process.wait()
        if self.master >= 0:
            self.hang_up()


@dataclass
class Written:
    """The log of the only session in a data folder, as it lies there."""

    data: Path

    def lines(self):
        files = sorted(self.data.rglob("*.jsonl"), key=lambda path: (len(path.stem), path.stem))
        if not files:
            return []
        whole = files[-1].read_bytes().split(b"\n")[:-1]  # of NAME-2 and NAME the former: it holds all
        return [json.loads(line) for line in whole]

    def of(self, *names):
        return [line for line in self.lines() if line["ev"] in names]

    def wait_for(self, name, count=1, timeout=PATIENCE_S):
        """Return the events of a name once there are so many."""
        until = time.monotonic() + timeout
        while len(found := self.of(name)) < count:
            assert time.monotonic() < until, f"no {name} in {[line['ev'] for line in self.lines()]}"
            time.sleep(0.01)
        return found


@dataclass
class Stage:
    """One run on stage: its terminal and its log."""

    terminals: Callable[..., Terminal]
    data: Path
    program: Path
    terminal: Terminal | None = None
    code: int | None = None

    def __post_init__(self):
        self.written = Written(self.data)

    def run(self, *args, plain=True):
        more = ["--plain"] if plain else []
        sound = [] if "--sound" in args else ["--sound", "off"]
        self.terminal = self.terminals("run", self.program, "--data", self.data, *sound, *more, *args)
        return self

    def past_the_cautions(self, tap=TAP):
        """Tap through the cautions, page by page."""
        self.terminal.wait_for(CAUTIONS)
        return self.tap_until("opened", tap, answered_s=TURNED_S)

    def tap_until(self, name, tap=TAP, count=1, answered_s=ANSWERED_S):
        """Tap once a new screen takes it, and again where a busy machine was not ready, until it happens."""
        until = time.monotonic() + PATIENCE_S
        while len(self.written.of(name)) < count:
            assert time.monotonic() < until, f"no {name} in {self.names}"
            time.sleep(NEW_SCREEN_S)
            if len(self.written.of(name)) < count:
                self.terminal.send(tap)
            with contextlib.suppress(AssertionError):
                self.written.wait_for(name, count, timeout=answered_s)
        return self

    def taps_until_printed(self, text, tap=TAP):
        """Tap like `tap_until`, until this is printed."""
        until = time.monotonic() + PATIENCE_S
        while True:
            time.sleep(NEW_SCREEN_S)
            self.terminal.send(tap)
            try:
                self.terminal.wait_for(text, timeout=ANSWERED_S)
            except AssertionError:
                if time.monotonic() > until:
                    raise
            else:
                return self

    def open(self, plain=True, script="A"):
        """Begin a first session, try the key, tap ready, and return once its window is open."""
        self.run("--script", script, plain=plain).past_the_cautions()
        self.tap_until("count-in")
        self.written.wait_for("window-open")
        return self

    def waits_for(self, name):
        """Wait for an event; where it does not come, say how the process and its files stand."""
        try:
            self.written.wait_for(name)
        except AssertionError as error:
            process = self.terminal.process
            status = Path(f"/proc/{process.pid}/status")
            how = status.read_text() if self.terminal.is_running() and status.exists() else process.poll()
            files = {path.name: path.stat().st_size for path in self.data.rglob("*.jsonl")}
            raise AssertionError(f"{error}; {files}; {how}; {self.terminal.output[-3000:]!r}") from None

    def tap(self, name, data=TAP, after_s=0.0):
        """Tap, wait until that left one more event of this name, and so many seconds more."""
        count = len(self.written.of(name)) + 1
        self.terminal.send(data)
        self.written.wait_for(name, count)
        time.sleep(after_s)
        return self

    def press(self, *keys, every_s=0.3):
        """Press keys that need not leave an event, one after the other."""
        for key in keys:
            self.terminal.send(key)
            time.sleep(every_s)
        return self

    def end(self):
        self.code = self.terminal.end()
        return self

    def taps_off(self, count, tap=TAP, patience_s=PATIENCE_S):
        """Tap away so many pages after a session, and more often where a busy machine was not ready."""
        give_up = time.monotonic() + patience_s
        while count > 0 or (self.terminal.is_running() and time.monotonic() < give_up):
            time.sleep(1.8)
            if self.terminal.is_running():
                self.terminal.send(tap)
            count -= 1
        return self

    def show(self):
        return said("show", "--json", "--data", self.data).json

    @property
    def names(self):
        return [line["ev"] for line in self.written.lines()]


@contextlib.contextmanager
def played_together(scenarios, new_stage):
    """Play every scenario at the same time as the others; yield what returns one of them by name, once over.

    The failure of a scenario is told by whoever asks for it.
    """
    with ThreadPoolExecutor(len(scenarios)) as pool:
        playing = {}
        for name, play in scenarios.items():  # one after the other, so that starting up crowds nobody out
            playing[name] = pool.submit(lambda play=play, name=name: play(new_stage(name)))
            time.sleep(APART_S)
        yield lambda name: playing[name].result()
