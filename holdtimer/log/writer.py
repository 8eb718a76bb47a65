"""Writing a session down while it happens, whatever the disk does."""

import errno
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path
from typing import Any

from holdtimer.log.disk import Disk, SystemDisk, in_words, is_full
from holdtimer.log.folder import SUFFIX, id_in
from holdtimer.log.lines import encode
from holdtimer.log.reader import SessionLog
from holdtimer.session.events import AnyEvent, Closed

RETRY_S = 1.0  # between two tries at a disk that fails
HANG_S = 2.0  # a call to the disk longer than this is a disk that does not answer
SILENT_DISK = "the disk does not answer"

_LONGEST_RETRY_S = 30.0  # each failed flush costs a new file, so these tries grow rarer


@dataclass(frozen=True, slots=True)
class Means:
    """What a pen works with: the disk, the clock it times calls by, and how it waits before a new try."""

    disk: Disk = field(default_factory=SystemDisk)
    clock: Callable[[], float] = time.monotonic
    pause: Callable[[threading.Event, float], object] = threading.Event.wait


class Ledger:
    """All lines of a session in memory, and how many of them are written and saved, wherever that was.

    `changed` guards everything that the threads share; nobody holds it while a disk is asked for anything.
    """

    def __init__(self, on_disk: Sequence[bytes] = ()) -> None:
        self.changed = threading.Condition()
        self.lines = list(on_disk)
        self.written = self.saved = len(self.lines)

    def add(self, line: bytes) -> int:
        """Take a line in and return how many there are now."""
        with self.changed:
            self.lines.append(line)
            self.changed.notify_all()
            return len(self.lines)


class Pen(threading.Thread):
    """Writes every line of a ledger into a folder and flushes it, until it is told to stop."""

    def __init__(self, ledger: Ledger, folder: Path, session: str, means: Means, begun: Path | None = None):
        """Begin in a new file; or go on in the file `begun`, which holds every line so far."""
        super().__init__(name="holdtimer-log", daemon=True)
        self.path: Path | None = begun
        self.fault: str | None = None
        self._ledger, self._means = ledger, means
        self._names = _names(folder, session)
        self._next_path = next(self._names)
        self._fd: int | None = None
        self._torn = False  # the file ends in the middle of a line
        self._here = self._flushed = len(ledger.lines) if begun else 0
        self._failed_files = 0
        self._asked_at: float | None = None
        self._finishing = self._dropped = False
        self._nudge = threading.Event()

    def run(self) -> None:
        """Write and flush whatever there is to write, and try again for as long as the disk fails."""
        while self._has_work():
            try:
                self._write_down()
            except OSError as error:
                self._bear(error)
        self._let_go()

    @property
    def done(self) -> bool:
        """Whether every line is in the present file and flushed."""
        return self._flushed == len(self._ledger.lines)

    def trouble(self) -> str | None:
        """Return in plain words why lines are not being saved, None where they are."""
        asked_at = self._asked_at
        if asked_at is not None and self._means.clock() - asked_at > HANG_S:
            return SILENT_DISK
        if self.fault is None and not self.done and not self.is_alive():
            return "the log is not being written any more"
        return self.fault

    def finish(self) -> None:
        """Stop once everything is written; try at once."""
        with self._ledger.changed:
            self._finishing = True
            self._ledger.changed.notify_all()
        self._nudge.set()

    def drop(self) -> None:
        """Stop as soon as the call to the disk that may be under way returns."""
        with self._ledger.changed:
            self._dropped = True
            self._ledger.changed.notify_all()
        self._nudge.set()

    def _has_work(self) -> bool:
        with self._ledger.changed:
            self._ledger.changed.wait_for(lambda: self._dropped or self._finishing or not self.done)
            return not self._dropped and not self.done

    def _write_down(self) -> None:
        fd = self._open()
        for line in self._ledger.lines[self._here :]:
            if self._dropped:
                return
            self._write(fd, line)
            with self._ledger.changed:
                self._here += 1
                self._ledger.written = max(self._ledger.written, self._here)
                self._ledger.changed.notify_all()
        self._flush(fd)

    def _open(self) -> int:
        if self._fd is None and self.path is not None:
            self._fd, self._torn = self._ask(self._means.disk.reopen, self.path)
        while self._fd is None:
            try:
                self._fd = self._ask(self._means.disk.create, self._next_path)
                self.path = self._next_path
            except FileExistsError:
                self._next_path = next(self._names)
        return self._fd

    def _write(self, fd: int, line: bytes) -> None:
        """Append one whole line, on a line of its own even after one that was cut off."""
        data = b"\n" + line if self._torn else line
        while data:
            taken = self._ask(self._means.disk.write, fd, data)
            if not taken:
                raise OSError(errno.EIO, "nothing was written")
            data = data[taken:]
            self._torn = bool(data)

    def _flush(self, fd: int) -> None:
        here = self._here
        self._ask(self._means.disk.flush, fd)
        if self.path is None or not self._ask(self._means.disk.is_at, fd, self.path):
            raise OSError(errno.ESTALE, "the file was moved or replaced")
        with self._ledger.changed:
            self._flushed = here
            self._ledger.saved = max(self._ledger.saved, here)
            self.fault, self._failed_files = None, 0
            self._ledger.changed.notify_all()

    def _bear(self, error: OSError) -> None:
        """Say what failed and wait; a file that failed for anything but space is not trusted again."""
        with self._ledger.changed:
            self.fault = in_words(error)
            self._ledger.changed.notify_all()
        if not is_full(error):
            self._begin_again()
        wait = min(RETRY_S * 2 ** max(0, self._failed_files - 1), _LONGEST_RETRY_S)
        self._means.pause(self._nudge, wait)
        self._nudge.clear()

    def _begin_again(self) -> None:
        if self.path is not None:
            self._failed_files += 1
        self._let_go()
        with self._ledger.changed:
            self.path, self._torn = None, False
            self._here = self._flushed = 0

    def _let_go(self) -> None:
        fd, self._fd = self._fd, None
        if fd is not None:
            with suppress(OSError):
                self._ask(self._means.disk.close, fd)

    def _ask(self, call: Callable[..., Any], *args: Any) -> Any:
        self._asked_at = self._means.clock()
        try:
            return call(*args)
        finally:
            self._asked_at = None


def _names(folder: Path, session: str) -> Iterator[Path]:
    yield folder / f"{session}{SUFFIX}"
    for number in count(2):
        yield folder / f"{session}-{number}{SUFFIX}"


CLOSE_WAIT_S = 3.0  # that a person waits at the end, whatever the disk does


class ClosedLogError(Exception):
    """Something was to be added to a session that is over."""


class Receipt:
    """Tells what became of one event that was handed in."""

    def __init__(self, ledger: Ledger, number: int):
        self._ledger, self._number = ledger, number

    @property
    def written(self) -> bool:
        """Whether it is in a file and would survive the end of this program."""
        return self._ledger.written >= self._number

    @property
    def saved(self) -> bool:
        """Whether it is flushed and would survive a loss of power."""
        return self._ledger.saved >= self._number

    def wait_written(self, timeout: float) -> bool:
        """Wait at most `timeout` seconds for it to be written and return whether it is."""
        with self._ledger.changed:
            return self._ledger.changed.wait_for(lambda: self.written, timeout)


class LogWriter:
    """The one place that writes a session: takes events in at once, puts them on disk in a thread.

    Whatever the disk does, every event stays in memory and is tried again; no method but `close` and
    `Receipt.wait_written` ever waits for the disk.
    """

    def __init__(
        self,
        folder: Path,
        session: str,
        means: Means | None = None,
        *,
        lines: Sequence[bytes] = (),
        begun: Path | None = None,
    ):
        """Begin a file for a session (or answers) with this id; it is made when the first event comes.

        `lines` are those that are on disk already, `begun` the file that holds them all.
        """
        self._session, self._means, self._closed = session, means or Means(), False
        self._ledger = Ledger(lines)
        self._pen = Pen(self._ledger, folder, session, self._means, begun)
        self._pen.start()

    @classmethod
    def resume(cls, log: SessionLog, means: Means | None = None) -> "LogWriter":
        """Resume a session that was left; ClosedLogError where it is over, ValueError where it has no file.

        It goes on in the file that holds all of it; where no single file does, all of it is written anew.
        """
        if log.closed:
            raise ClosedLogError(f"session {log.session} is closed, nothing is added to it")
        if not log.files:
            raise ValueError(f"session {log.session} has no file to go on in")
        lines = [encode(event) for event in log.events]
        file = log.files[0]
        name = log.session if id_in(log.session) == log.session else file.stem  # a stranger's id is no path
        return cls(file.parent, name, means, lines=lines, begun=log.whole_file)

    def append(self, event: AnyEvent) -> Receipt:
        """Take an event in, at once; ClosedLogError after a `closed` event or after `close`."""
        if self._closed:
            raise ClosedLogError(f"session {self._session} is closed, nothing is added to it")
        self._closed = isinstance(event, Closed)
        return Receipt(self._ledger, self._ledger.add(encode(event)))

    @property
    def handed_in(self) -> int:
        """How many events there are."""
        return len(self._ledger.lines)

    @property
    def written(self) -> int:
        """How many of them would survive the end of this program."""
        return self._ledger.written

    @property
    def saved(self) -> int:
        """How many of them would survive a loss of power."""
        return self._ledger.saved

    @property
    def path(self) -> Path | None:
        """The file being written now, None while there is none."""
        return self._pen.path

    def trouble(self) -> str | None:
        """Return in plain words why events are not being saved ("the disk is full"), None where they are."""
        return self._pen.trouble()

    def move_to(self, folder: Path) -> None:
        """Write the whole session into another folder from now on, even while the old disk hangs."""
        self._pen.drop()
        self._pen = Pen(self._ledger, folder, self._session, self._means)
        self._pen.start()

    @property
    def why_not_saved(self) -> str:
        """What keeps events out of the file that were waited for in vain, in plain words."""
        return self.trouble() or SILENT_DISK

    def close(self, timeout: float | None = None) -> bool:
        """Take no more events, wait at most so many seconds, and return whether all of them are saved."""
        self._closed = True
        self._pen.finish()
        self._pen.join(CLOSE_WAIT_S if timeout is None else timeout)
        done = self._pen.done
        self._pen.drop()
        return done
