import errno
import queue
import threading
from collections import defaultdict, deque
from functools import cache
from pathlib import Path

import pytest

from holdtimer.log import session_log
from holdtimer.log.disk import Disk
from holdtimer.log.folder import session_folder
from holdtimer.log.lines import encode
from holdtimer.log.writer import Environment
from holdtimer.session import events as ev

SESSION = "20261125T090738Z-1a2b3c4d"


def _session(session=SESSION, person="Ada", **opened):
    place = {"set": 1, "exercise": "wall-sit", "side": "both"}
    boot = "0d5f6f0e-5f0c-4b4e-8f5c-0a0b0c0d0e0f"
    return [
        ev.Opened(
            n=0, t=0, session=session, person=person, program="chair", program_text='id = "ö"', **opened
        ),
        ev.Anchor(n=1, t=0, why="opening", mono_ns=5, wall="2026-11-25T09:07:38.250Z", boot_id=boot),
        ev.Ready(n=2, t=3.5),
        ev.CountIn(n=3, t=3.5, part=0, seconds=10, **place),
        ev.WindowOpen(n=4, t=13.5, rung="half way", window_s=90, band_s=(60, 90), **place),
        ev.Band(n=5, t=73.5, at=60, **place),
        ev.Failure(n=6, t=78.1234, at=64.6234, late_ms=0.25, **place),
        ev.ReEntry(n=7, t=84.5, at=71, **place),
        ev.WindowClosed(n=8, t=103.5, at=90, **place),
        ev.Answer(n=9, t=110, id="a1", field="note", value="schön, 世界", set=1),
        ev.Closed(n=10, t=120, reason="finished"),
    ]


class FaultyDisk(Disk):
    """The system's disk, made to fail: each call first takes the next fault waiting for it.

    A fault is None (none), an errno, an exception, "hang" (until `answers` is set), or for `write` a short
    write: ("short", how many bytes are taken).
    """

    def __init__(self):
        self.faults = defaultdict(deque)
        self.always = {}
        self.calls = []
        self.hung = threading.Event()
        self.answers = threading.Event()

    def fail(self, call, *faults):
        self.faults[call].extend(faults)

    def _fault(self, call):
        self.calls.append(call)
        fault = self.faults[call].popleft() if self.faults[call] else self.always.get(call)
        if fault == "hang":
            self.hung.set()
            self.answers.wait(30)
            return None
        if isinstance(fault, int):
            raise OSError(fault, "injected")
        if isinstance(fault, BaseException):
            raise fault
        return fault

    def create(self, path):
        self._fault("create")
        return super().create(path)

    def reopen(self, path):
        self._fault("reopen")
        return super().reopen(path)

    def write(self, fd, data):
        fault = self._fault("write")
        return super().write(fd, data[: fault[1]] if fault else data)

    def flush(self, fd):
        self._fault("flush")
        super().flush(fd)


class Patience:
    """Stands in for the wait before a new try: tells how long it was to be, ends when told."""

    def __init__(self):
        self.waits = queue.Queue()
        self._nudge = None

    def __call__(self, nudge, seconds):
        self._nudge = nudge
        self.waits.put(seconds)
        nudge.wait(30)

    def until_it_failed(self):
        return self.waits.get(timeout=10)

    def try_again(self):
        self._nudge.set()


@pytest.fixture
def session_id():
    return SESSION


@pytest.fixture
def session():
    """Build the events of one session, closed, with one set that failed at 64.6234 s."""
    return _session


@pytest.fixture
def data(tmp_path):
    return tmp_path / "data"


@pytest.fixture
def folder(data):
    return session_folder(data, "Ada")


@pytest.fixture
def put(folder):
    """Write a file as it stands into Ada's folder."""

    def put(content, name=f"{SESSION}.jsonl"):
        path = Path(folder, name)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(
            content if isinstance(content, bytes) else b"".join(encode(each) for each in content)
        )
        return path

    return put


@pytest.fixture
def lines_decoded_once(monkeypatch):
    """Of thousands of files that differ in a line or two, decode the lines they share once."""
    monkeypatch.setattr(session_log, "decode", cache(session_log.decode))


@pytest.fixture
def disk():
    disk = FaultyDisk()
    yield disk
    disk.answers.set()


@pytest.fixture
def patience():
    return Patience()


@pytest.fixture
def environment(disk, patience):
    return Environment(disk=disk, pause=patience)


@pytest.fixture
def full():
    return errno.ENOSPC
