"""Writing a session to disk while it happens, whatever the disk does."""

import errno
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path
from typing import Any

from holdtimer.files import within
from holdtimer.log.disk import Disk, in_words, is_full
from holdtimer.log.folder import SUFFIX, id_in
from holdtimer.log.lines import decode, encode
from holdtimer.log.session_log import SessionLog
from holdtimer.session.events import AnyEvent, Closed, Event

RETRY_S = 1.0  # between two tries at a disk that fails
HANG_S = 2.0  # a call to the disk that takes longer counts as no answer
CLOSE_WAIT_S = 3.0  # the longest a person waits at the end, whatever the disk does
SILENT_DISK = "the disk does not answer"

_LONGEST_RETRY_S = 30.0  # each failed flush costs a new file, so these tries grow rarer


class ClosedLogError(Exception):
    """The session is over: nothing may be added."""


@dataclass(frozen=True, slots=True)
class Environment:
    """The disk, the clock that times its calls (seconds), and how to wait before a new try."""

    disk: Disk = field(default_factory=Disk)
    clock: Callable[[], float] = time.monotonic
    pause: Callable[[threading.Event, float], object] = threading.Event.wait


class LogWriter:
    """The one place that writes a session: takes events at once, puts them on disk in a thread.

    Whatever the disk does, every event stays in memory and is tried again; no method but `close` and
    `wait_written` ever waits for the disk.
    """

    def __init__(
        self,
        folder: Path,
        session: str,
        environment: Environment | None = None,
        *,
        lines: Sequence[bytes] = (),
        begun: Path | None = None,
    ):
        """Begin a file for a session (or answers) with this id; it is made when the first event comes.

        `lines` are those that are on disk already, `begun` the file that holds them all.
        """
        self._session, self._environment = session, environment or Environment()
        self._closed = False
        # guards what the threads share below; nobody holds it while the disk is asked for anything
        self._changed = threading.Condition()
        self._lines = list(lines)
        self.written = len(self._lines)  # how many events would survive the end of this program
        self.saved = len(self._lines)  # how many would survive a loss of power
        self.moved_because: str | None = None  # why it is no longer written where it belongs
        self._file = _FileThread(self, folder, session, self._environment, begun)
        self._file.start()

    @classmethod
    def resume(cls, log: SessionLog, environment: Environment | None = None) -> "LogWriter":
        """Resume a session that was left; ClosedLogError where it is over, ValueError where it has no file.

        It goes on in the file that holds all of it; where no single file does, all of it is written again.
        """
        if log.closed:
            raise ClosedLogError(f"session {log.session} is closed, nothing is added to it")
        if not log.files:
            raise ValueError(f"session {log.session} has no file to go on in")
        lines = [encode(event) for event in log.events]
        file = log.files[0]
        name = log.session if id_in(log.session) == log.session else file.stem  # a stranger's id is no path
        return cls(file.parent, name, environment, lines=lines, begun=log.whole_file)

    def append(self, event: AnyEvent) -> None:
        """Take an event, at once; ClosedLogError after a `closed` event or after `close`."""
        if self._closed:
            raise ClosedLogError(f"session {self._session} is closed, nothing is added to it")
        self._closed = isinstance(event, Closed)
        line = encode(event)
        with self._changed:
            self._lines.append(line)
            self._changed.notify_all()

    @property
    def handed_in(self) -> int:
        """How many events there are."""
        return len(self._lines)

    @property
    def path(self) -> Path | None:
        """The file being written now, None while there is none."""
        return self._file.path

    def wait_written(self, timeout: float) -> bool:
        """Wait at most `timeout` seconds for every event so far to be written; return whether they are."""
        number = self.handed_in
        with self._changed:
            return self._changed.wait_for(lambda: self.written >= number, timeout)

    def trouble(self) -> str | None:
        """Return in plain words why events are not being saved ("the disk is full"), None where they are."""
        return self._file.trouble()

    @property
    def why_not_saved(self) -> str:
        """What keeps events off the disk after waiting in vain, in plain words."""
        return self.trouble() or SILENT_DISK

    @property
    def unsaved(self) -> list[AnyEvent]:
        """The events that are not surely kept in the present file."""
        found = map(decode, self._lines[self._file.flushed :])
        return [each for each in found if isinstance(each, Event)]

    def move_to(self, folder: Path) -> None:
        """Write the whole session into another folder from now on, even while the old disk hangs."""
        self.moved_because = self.moved_because or self.why_not_saved
        self._file.stop(at_once=True)
        self._file = _FileThread(self, folder, self._session, self._environment)
        self._file.start()

    def discard(self) -> bool:
        """Take no more events, and delete what this writer made; return whether nothing of it is left."""
        self._closed = True
        self._file.stop(at_once=True)
        self._file.join(CLOSE_WAIT_S)
        if not self._file.is_alive():
            with suppress(OSError):
                within(CLOSE_WAIT_S, self._delete)
                return True
        return False

    def _delete(self) -> None:
        for path in self._file.made:
            path.unlink(missing_ok=True)

    def close(self, timeout: float | None = None) -> bool:
        """Take no more events; wait at most `timeout` s (else 3); return whether all of them are saved."""
        self._closed = True
        self._file.stop()
        self._file.join(CLOSE_WAIT_S if timeout is None else timeout)
        done = self._file.done
        self._file.stop(at_once=True)
        return done


class _FileThread(threading.Thread):
    """Writes every line of a writer into a file of one folder and flushes it, until it is stopped."""

    def __init__(
        self,
        writer: LogWriter,
        folder: Path,
        session: str,
        environment: Environment,
        begun: Path | None = None,
    ):
        """Begin a new file; or go on in the file `begun`, which holds every line so far."""
        super().__init__(name="holdtimer-log", daemon=True)
        self.path: Path | None = begun
        self.made: list[Path] = []
        self._writer, self._changed, self._environment = writer, writer._changed, environment
        self._disk = environment.disk
        self._names = _names(folder, session)
        self._next_path = next(self._names)
        self._fd: int | None = None
        self._size = 0  # bytes in the file
        self._torn = False  # it ends in the middle of a line
        self._here = self._flushed = len(writer._lines) if begun else 0
        self._failure: str | None = None
        self._failed_files = 0
        self._asked_at: float | None = None  # since when the disk has not answered
        self._finishing = self._dropped = False
        self._compared = self._flushed  # lines found in the file at its path, once nothing more comes
        self._nudge = threading.Event()

    def run(self) -> None:
        """Write and flush whatever there is to write, and try again for as long as the disk fails."""
        while self._has_work():
            try:
                if self._flushed < len(self._writer._lines):
                    self._write_lines()
                self._compare()
            except OSError as error:
                self._wait_after(error)
        self._close_file()

    @property
    def flushed(self) -> int:
        """How many of the first lines are in the present file, as far as is known."""
        return self._flushed

    @property
    def done(self) -> bool:
        """Whether every line is in the present file and flushed; at the end also compared."""
        number = len(self._writer._lines)
        return self._flushed == number and (not self._finishing or self._compared == number)

    def trouble(self) -> str | None:
        """Return in plain words why lines are not being saved, None where they are."""
        asked_at = self._asked_at
        if asked_at is not None and self._environment.clock() - asked_at > HANG_S:
            return SILENT_DISK
        if self._failure is None and not self.done and not self.is_alive():
            return "the log is no longer being written"
        return self._failure

    def stop(self, *, at_once: bool = False) -> None:
        """Try at once, and end when everything is written; `at_once`: as soon as the disk answers."""
        with self._changed:
            self._finishing = True
            self._dropped |= at_once
            self._changed.notify_all()
        self._nudge.set()

    def _has_work(self) -> bool:
        with self._changed:
            self._changed.wait_for(lambda: self._dropped or self._finishing or not self.done)
            return not self._dropped and not self.done

    def _write_lines(self) -> None:
        fd = self._open()
        for line in self._writer._lines[self._here :]:
            if self._dropped:
                return
            self._write(fd, line)
            with self._changed:
                self._here += 1
                self._writer.written = max(self._writer.written, self._here)
                self._changed.notify_all()
        self._flush(fd)

    def _open(self) -> int:
        if self._fd is None and self.path is not None:
            self._fd, self._size, self._torn = self._ask(self._disk.reopen, self.path)
        while self._fd is None:
            try:
                self._fd = self._ask(self._disk.create, self._next_path)
                self.path, self._size = self._next_path, 0
                self.made.append(self.path)
            except FileExistsError:
                self._next_path = next(self._names)
        return self._fd

    def _write(self, fd: int, line: bytes) -> None:
        """Append one whole line, on a line of its own even after one that was cut off."""
        data = b"\n" + line if self._torn else line
        while data:
            taken = self._ask(self._disk.write, fd, data)
            if not taken:
                raise OSError(errno.EIO, "nothing was written")
            self._size += taken
            data = data[taken:]
            self._torn = bool(data)

    def _flush(self, fd: int) -> None:
        here = self._here
        self._ask(self._disk.flush, fd)
        if self.path is None or not self._ask(self._disk.is_at, fd, self.path, self._size):
            raise OSError(errno.ESTALE, "the file was moved or replaced")
        with self._changed:
            self._flushed = here
            self._writer.saved = max(self._writer.saved, here)
            self._failure, self._failed_files = None, 0
            self._changed.notify_all()

    def _compare(self) -> None:
        """See at the end that the file at the path holds every line: another may lie there by now."""
        lines = list(self._writer._lines)
        if not self._finishing or self._dropped or self._flushed < len(lines):
            return  # what came since the last flush is written first
        if self.path is None or not self._ask(self._disk.holds, self.path, lines):
            raise OSError(errno.ESTALE, "the file was moved or replaced")
        self._compared = len(lines)

    def _wait_after(self, error: OSError) -> None:
        """Wait before the next try; a file that failed for anything but space is not trusted again."""
        with self._changed:
            self._failure = in_words(error)
            self._changed.notify_all()
        if not is_full(error):
            self._failed_files += self.path is not None
            self._close_file()
            with self._changed:
                self.path, self._torn = None, False
                self._here = self._flushed = 0
        wait = min(RETRY_S * 2 ** max(0, self._failed_files - 1), _LONGEST_RETRY_S)
        self._environment.pause(self._nudge, wait)
        self._nudge.clear()

    def _close_file(self) -> None:
        fd, self._fd = self._fd, None
        if fd is not None:
            with suppress(OSError):
                self._ask(self._disk.close, fd)

    def _ask(self, call: Callable[..., Any], *args: Any) -> Any:
        self._asked_at = self._environment.clock()
        try:
            return call(*args)
        finally:
            self._asked_at = None


def _names(folder: Path, session: str) -> Iterator[Path]:
    yield folder / f"{session}{SUFFIX}"
    for number in count(2):
        yield folder / f"{session}-{number}{SUFFIX}"
