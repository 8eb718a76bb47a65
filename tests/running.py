"""The program as a process of its own: started, led through pipes, and what it answered.

Loading the program takes longer than most of what is asked of it. On Linux one process has loaded all of it,
and a run is a fork of that one (`tests/loaded.py`); with an environment or code of its own it starts afresh.
"""

import atexit
import json
import os
import select
import signal
import socket
import struct
import subprocess
import sys
import threading
import weakref
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parent.parent
CAN_FORK = sys.platform == "linux"
WATCHED_S = 60.0  # a run that answers no more is killed then


@dataclass
class Said:
    """What a command answered."""

    code: int
    out: str
    err: str

    @property
    def json(self):
        return json.loads(self.out)


class Fork:
    """A run that was forked; it can be asked what a `Popen` can."""

    def __init__(self, report: int):
        self._report = report
        weakref.finalize(self, os.close, report)  # not before: its number could be another's while one waits
        self._ends = threading.Lock()
        self.pid = self._read()
        self.returncode: int | None = None

    def _read(self) -> int:
        (number,) = struct.unpack("i", os.read(self._report, 4))
        return number

    def wait(self, timeout: float | None = None) -> int:
        if self.returncode is None:
            if not select.select([self._report], [], [], timeout)[0]:
                raise subprocess.TimeoutExpired("holdtimer", timeout or 0)
            with self._ends:
                if self.returncode is None:
                    self.returncode = self._read()
        return self.returncode

    def poll(self) -> int | None:
        with suppress(subprocess.TimeoutExpired):
            self.wait(0)
        return self.returncode

    def send_signal(self, number: int) -> None:
        if self.poll() is None:
            with suppress(ProcessLookupError):
                os.kill(self.pid, number)

    def terminate(self) -> None:
        self.send_signal(signal.SIGTERM)

    def kill(self) -> None:
        self.send_signal(signal.SIGKILL)


@cache
def _loaded() -> socket.socket:
    """Start the process that has loaded everything, and return where it takes orders, one a message."""
    ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
    with theirs:
        process = subprocess.Popen(
            [sys.executable, "-m", "tests.loaded", str(theirs.fileno())],
            stdin=subprocess.PIPE,  # like a terminal they can't be wound back
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            env=os.environ | {"TERM": "xterm-256color"},
            cwd=ROOT,
            pass_fds=[theirs.fileno()],
        )

    def end() -> None:
        ours.close()
        process.communicate()

    atexit.register(end)
    return ours


def _forked(streams: Sequence[int], **order: object) -> Fork:
    ours, theirs = os.pipe()
    socket.send_fds(_loaded(), [json.dumps(order).encode()], [*streams, theirs])
    os.close(theirs)
    return Fork(ours)


def start(
    args: Sequence[object],
    streams: Sequence[int],
    env: Mapping[str, str] = os.environ,
    cwd: object = ".",
    code: str | None = None,
    has_terminal: bool = False,
    limit: int | None = None,
    afresh: bool = False,
) -> "Fork | subprocess.Popen[bytes]":
    """Start a run with these three streams, in a session of its own where they are its terminal.

    `code` is run in place of the program; a file may grow to `limit` bytes; `afresh`: everything is loaded.
    """
    words = [str(arg) for arg in args]
    if CAN_FORK and code is None and not afresh:
        place = {"env": dict(env), "cwd": os.path.abspath(str(cwd))}
        return _forked(streams, args=words, has_terminal=has_terminal, limit=limit, **place)

    def prepared() -> None:
        from tests.loaded import prepare

        prepare(has_terminal, limit)

    return subprocess.Popen(
        [sys.executable, *(["-c", code] if code else ["-m", "holdtimer"]), *words],
        stdin=streams[0],
        stdout=streams[1],
        stderr=streams[2],
        env=env,
        cwd=cwd,
        start_new_session=has_terminal,
        preexec_fn=prepared if has_terminal or limit is not None else None,
    )


class Plain:
    """A run led through pipes."""

    def __init__(self, *args, **more):
        """Start it; `more` is that of `start`."""
        given, stdin = os.pipe()
        stdout, out = os.pipe()
        stderr, err = os.pipe()
        self.process = start(args, (given, out, err), **more)
        for theirs in (given, out, err):
            os.close(theirs)
        self.stdin, self.stdout = os.fdopen(stdin, "wb"), os.fdopen(stdout, "rb")
        self.stderr = os.fdopen(stderr, "rb")
        self.lines = []
        self._watch = threading.Timer(WATCHED_S, self.process.kill)
        self._watch.daemon = True
        self._watch.start()

    def until(self, part):
        """Read lines until one has this in it, and return that one."""
        for line in self.stdout:
            self.lines.append(line.decode().rstrip("\n"))
            if part in self.lines[-1]:
                return self.lines[-1]
        raise AssertionError(f"{part!r} is not in {self.lines}, {self.stderr.read()}")

    def press(self, keys=b" "):
        self.stdin.write(keys)
        self.stdin.flush()

    def end(self, closes_input=False):
        """Return how it ended."""
        if closes_input:
            self.stdin.close()
        self.lines += self.stdout.read().decode().splitlines()
        err = self.stderr.read().decode()
        self._watch.cancel()
        return Said(self.process.wait(), "\n".join(self.lines), err)

    def let_go(self):
        self._watch.cancel()
        self.process.kill()
        for stream in (self.stdin, self.stdout, self.stderr):
            with suppress(BrokenPipeError):
                stream.close()
        self.process.wait()


def said(*args, keys=b"", env=None, **more) -> Said:
    """Return what a run answers whose input is `keys` and no more; with an `env` added it starts afresh."""
    run = Plain(*args, env=os.environ | (env or {}), afresh=env is not None, **more)
    try:
        with suppress(BrokenPipeError):  # it did not wait for them
            run.press(keys)
        with suppress(BrokenPipeError):
            run.stdin.close()
        return run.end()
    finally:
        run.let_go()
