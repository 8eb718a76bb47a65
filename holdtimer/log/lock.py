"""One run at a time for each person."""

import os
import socket
import sys
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from types import TracebackType

from filelock import FileLock, Timeout

from holdtimer.errors import LogHeldError
from holdtimer.files import read_bounded, within, write_whole
from holdtimer.log.clocks import on_the_wall
from holdtimer.log.folder import make_private

_LOCK = "run.lock"
_HOLDER = "run.holder"
_MAX_HOLDER = 10_000  # bytes
_RELEASE_WAIT_S = 2.0


class Hold:
    """The right to write one person's log, until released or the process ends in whatever way.

    `remark` says in plain words why the log could not be locked; the run goes on without a lock.
    """

    def __init__(self, lock: FileLock | None, remark: str | None = None, folder: int | None = None):
        self._lock, self.remark, self._folder = lock, remark, folder

    def release(self) -> None:
        """Give the log back; a disk that does not answer is not waited for."""
        with suppress(TimeoutError):
            within(_RELEASE_WAIT_S, self._release)

    def _release(self) -> None:
        if self._lock is not None:
            self._lock.release()
        if self._folder is not None:
            os.close(self._folder)
            self._folder = None

    def __enter__(self) -> "Hold":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.release()


def hold(folder: Path, now: datetime) -> Hold:
    """Take the lock in a person's folder without waiting; LogHeldError where another run has it."""
    lock = FileLock(folder / _LOCK, mode=0o600, thread_local=False, fallback_to_soft=False)
    try:
        make_private(folder)
        lock.acquire(blocking=False)
        locked = _lock_folder(folder)
    except (Timeout, BlockingIOError):
        lock.release()
        raise _held(*_holder(folder / _HOLDER), now) from None
    except (OSError, NotImplementedError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        return Hold(None, f"this log cannot be locked, so a second run would not be stopped: {reason}")
    with suppress(OSError):
        _write_holder(folder / _HOLDER, now)
    return Hold(lock, folder=locked)


def _lock_folder(folder: Path) -> int | None:
    """Lock the folder as well: the file of the lock may be deleted while it is held.

    Return its descriptor, None where folders cannot be locked; BlockingIOError where another run has it.
    """
    if sys.platform == "win32":  # there no file is deleted while it is locked
        return None
    import fcntl

    fd = None
    try:
        fd = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
        fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        if fd is not None:
            os.close(fd)
        if isinstance(error, BlockingIOError):
            raise
        return None
    return fd


def _write_holder(path: Path, now: datetime) -> None:
    since = on_the_wall(now).isoformat(timespec="seconds")
    text = f"{os.getpid()}\n{socket.gethostname()}\n{since}\n"
    write_whole(path, text.encode())


def _held(pid: int | None, host: str | None, since: str | None, now: datetime) -> LogHeldError:
    """Return the error, with the day of `since` where it is not that of `now`."""
    who = f"process {pid} on {host}" if pid and host else "another run"
    message = (
        f"the log is held by {who}{_since_words(since, now)}: a session is still running there; "
        "end it first (Ctrl+Q leaves it and keeps every stamp), then start again"
    )
    return LogHeldError(message, pid, host, since)


def _since_words(since: str | None, now: datetime) -> str:
    try:
        begun = on_the_wall(datetime.fromisoformat(since or ""))
    except (ValueError, OverflowError):
        return ""
    day = "" if begun.date() == on_the_wall(now).date() else f"{begun:%Y-%m-%d} "
    return f", since {day}{begun:%H:%M}"


def _holder(path: Path) -> tuple[int | None, str | None, str | None]:
    try:
        text = read_bounded(path, _MAX_HOLDER).decode(errors="replace")
        lines = [line for line in text.splitlines() if line.isprintable()]
    except OSError:
        lines = []
    pid, host, since = [*lines, "", "", ""][:3]
    return int(pid) if pid.isdecimal() else None, host or None, since or None
