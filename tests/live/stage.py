"""Real runs on stage: a pseudo-terminal, the log as it lies there, and what was sent to it when."""

import contextlib
import fcntl
import json
import os
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

HOLDTIMER = [sys.executable, "-m", "holdtimer"]
TAP = b" "
ENV = {"TERM": "xterm-256color", "HOLDTIMER_CONFIG": "/no-config.toml", "HOLDTIMER_TRACEBACK": "1"}
INTERNAL_FAULT = 70


@dataclass
class Sent:
    """Bytes handed to a terminal, and the steady clock before and after that."""

    data: bytes
    before: float
    after: float


@dataclass
class Terminal:
    """A real run in a pseudo-terminal of its own, or with pipes in place of one."""

    args: list[str]
    size: tuple[int, int] = (200, 60)
    env: dict[str, str] = field(default_factory=dict)
    program: list[str] = field(default_factory=lambda: HOLDTIMER)
    limit: int | None = None  # bytes that a file may grow to

    def __post_init__(self):
        self.master, self.slave = os.openpty()
        columns, rows = self.size
        fcntl.ioctl(self.slave, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        self.settings = termios.tcgetattr(self.slave)
        self.output = b""
        self._grown = threading.Condition()
        self.process = subprocess.Popen(
            [*self.program, *self.args],
            stdin=self.slave,
            stdout=self.slave,
            stderr=self.slave,
            env={**os.environ, **ENV, **self.env},
            start_new_session=True,
            preexec_fn=self._prepare,
        )
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _prepare(self):
        fcntl.ioctl(0, termios.TIOCSCTTY, 0)
        if self.limit is not None:
            import resource

            resource.setrlimit(resource.RLIMIT_FSIZE, (self.limit, self.limit))

    def _read(self):
        with contextlib.suppress(OSError, ValueError):
            while True:
                ready, _, _ = select.select([self.master], [], [], 0.2)
                if ready:
                    data = os.read(self.master, 65536)
                    with self._grown:
                        self.output += data
                        self._grown.notify_all()

    def send(self, data):
        before = time.monotonic()
        os.write(self.master, data)
        return Sent(data, before, time.monotonic())

    def send_at(self, moment, data):
        """Send at a moment of the steady clock."""
        time.sleep(max(0.0, moment - time.monotonic()))
        return self.send(data)

    def wait_for(self, text, timeout=20.0):
        """Return the match of a pattern in what was printed, once it is there."""
        pattern = re.compile(text.encode())
        with self._grown:
            found = self._grown.wait_for(lambda: pattern.search(self.output), timeout)
        assert found, f"{text!r} was not printed: {self.output[-2000:]!r}"
        return pattern.search(self.output)

    def end(self, timeout=20.0):
        """Return the exit code, once the process has ended and all of its output is here."""
        code = self.process.wait(timeout)
        with self._grown:
            self._grown.wait_for(lambda: False, 0.3)
        assert code != INTERNAL_FAULT, self.output[-6000:].decode(errors="replace")
        return code

    def is_running(self):
        return self.process.poll() is None

    def hang_up(self):
        """Close the terminal, as when its window is closed."""
        os.close(self.slave)
        os.close(self.master)
        self.slave = self.master = -1

    def settings_now(self):
        return termios.tcgetattr(self.slave)

    def close(self):
        if self.process.poll() is None:
            with contextlib.suppress(ProcessLookupError):
                self.process.send_signal(signal.SIGCONT)
            self.process.kill()
            self.process.wait()
        for fd in (self.slave, self.master):
            if fd >= 0:
                with contextlib.suppress(OSError):
                    os.close(fd)


@dataclass
class Written:
    """The log of the only session in a data folder, as it lies there."""

    data: Path

    def lines(self):
        files = sorted(self.data.rglob("*.jsonl"))
        if not files:
            return []
        whole = files[-1].read_bytes().split(b"\n")[:-1]
        return [json.loads(line) for line in whole]

    def of(self, *names):
        return [line for line in self.lines() if line["ev"] in names]

    def steady(self, line):
        """Return when an event was, by the steady clock of the machine."""
        return self.lines()[0]["mono_ns"] / 1e9 + line["t"]

    def wait_for(self, name, count=1, timeout=20.0):
        """Return the events of a name once there are so many."""
        until = time.monotonic() + timeout
        while len(found := self.of(name)) < count:
            assert time.monotonic() < until, f"no {name} in {[line['ev'] for line in self.lines()]}"
            time.sleep(0.01)
        return found


@dataclass
class Stage:
    """One run on stage: its terminal, its log, and what was sent."""

    terminals: Callable[..., Terminal]
    data: Path
    program: Path
    terminal: Terminal | None = None
    sent: list[Sent] = field(default_factory=list)
    code: int | None = None

    def __post_init__(self):
        self.written = Written(self.data)

    def run(self, *args, plain=True):
        more = ["--plain"] if plain else []
        self.terminal = self.terminals(
            "run", self.program, "--data", self.data, "--sound", "off", *more, *args
        )
        return self

    def past_the_cautions(self, tap=TAP):
        self.terminal.wait_for("doctor")
        time.sleep(1.7)
        self.terminal.send(tap)
        return self

    def open(self, plain=True, script="A"):
        """Begin a session, tap ready, and return when its window opens, by the steady clock."""
        self.run("--script", script, plain=plain)
        if not plain:
            self.past_the_cautions()
        self.written.wait_for("opened")
        opened = self.written.steady(self.written.lines()[0])
        self.terminal.send_at(opened + 1.7, TAP)
        begun = self.written.wait_for("count-in")[0]
        return self.written.steady(begun) + begun["seconds"]

    def tap(self, moment, data=TAP):
        self.sent.append(self.terminal.send_at(moment, data))

    def end(self):
        self.code = self.terminal.end()
        return self

    def taps_off(self, count, tap=TAP, patience_s=20.0):
        """Tap away so many pages after a session, and more often where a busy machine was not ready."""
        give_up = time.monotonic() + patience_s
        while count > 0 or (self.terminal.is_running() and time.monotonic() < give_up):
            time.sleep(1.8)
            if self.terminal.is_running():
                self.terminal.send(tap)
            count -= 1
        return self

    def show(self):
        told = subprocess.run(
            [*HOLDTIMER, "show", "--json", "--data", str(self.data)], capture_output=True, check=True
        )
        return json.loads(told.stdout)

    def lateness(self, *names):
        """Return by how much each stamp is off the moment its tap was written, in seconds."""
        stamps = self.written.of(*names)
        assert len(stamps) == len(self.sent), [(line["ev"], line["t"]) for line in self.written.lines()]
        found = []
        for stamp, sent in zip(stamps, self.sent, strict=True):
            at = self.written.steady(stamp)
            assert at >= sent.before - 0.001  # to the rounding of the log
            found.append(max(0.0, at - sent.after))
        return found


@contextlib.contextmanager
def played_together(scenarios, new_stage):
    """Play every scenario at the same time as the others; yield what returns one of them by name, once over.

    The failure of a scenario is told by whoever asks for it.
    """
    with ThreadPoolExecutor(len(scenarios)) as pool:
        playing = {}
        for name, play in scenarios.items():  # one after the other, so that starting up crowds nobody out
            playing[name] = pool.submit(lambda play=play, name=name: play(new_stage(name)))
            time.sleep(0.8)
        yield lambda name: playing[name].result()
