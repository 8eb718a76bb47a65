"""One run at a time for each person."""

import os
import socket
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from types import TracebackType

from filelock import FileLock, Timeout

from holdtimer.errors import LogHeldError
from holdtimer.log.folder import make_private

_LOCK = "run.lock"
_HOLDER = "run.holder"


class Hold:
    """The right to write one person's log, until released or the process ends in whatever way.

    `remark` says in plain words why the log could not be locked; the run goes on without.
    """

    def __init__(self, lock: FileLock | None, remark: str | None = None):
        self._lock, self.remark = lock, remark

    def release(self) -> None:
        """Let others write."""
        if self._lock is not None:
            self._lock.release()

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
    except Timeout:
        raise _held(*_holder(folder / _HOLDER), now) from None
    except (OSError, NotImplementedError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        return Hold(None, f"no other run is kept from this log, it cannot be locked: {reason}")
    with suppress(OSError):
        _write_holder(folder / _HOLDER, now)
    return Hold(lock)


def _write_holder(path: Path, now: datetime) -> None:
    text = f"{os.getpid()}\n{socket.gethostname()}\n{now.astimezone().isoformat(timespec='seconds')}\n"
    fd = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | getattr(os, "O_NOFOLLOW", 0), 0o600)
    with open(fd, "w", encoding="utf-8") as file:
        file.write(text)


def _held(pid: int | None, host: str | None, since: str | None, now: datetime) -> LogHeldError:
    """Return the error, with the day of `since` where it is not that of `now`."""
    who = f"process {pid} on {host}" if pid and host else "another run"
    message = (
        f"the log is held by {who}{_since_words(since, now)}: a session is still going on there; "
        "end it first (Ctrl+Q leaves it, and all that was stamped is kept), then begin again"
    )
    return LogHeldError(message, pid, host, since)


def _since_words(since: str | None, now: datetime) -> str:
    try:
        begun = datetime.fromisoformat(since or "").astimezone()
    except (ValueError, OverflowError):
        return ""
    day = "" if begun.date() == now.astimezone().date() else f"{begun:%Y-%m-%d} "
    return f", since {day}{begun:%H:%M}"


def _holder(path: Path) -> tuple[int | None, str | None, str | None]:
    try:
        with path.open(encoding="utf-8", errors="replace") as file:
            lines = [line for line in file.read(1000).splitlines() if line.isprintable()]
    except OSError:
        lines = []
    pid, host, since = [*lines, "", "", ""][:3]
    return int(pid) if pid.isdecimal() else None, host or None, since or None
