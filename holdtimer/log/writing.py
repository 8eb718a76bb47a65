"""Writing a session down while it happens, whatever the disk does."""

from collections.abc import Sequence
from pathlib import Path

from holdtimer.log.folder import id_in
from holdtimer.log.lines import encode
from holdtimer.log.pen import SILENT_DISK, Ledger, Means, Pen
from holdtimer.log.session_log import SessionLog
from holdtimer.session.events import AnyEvent, Closed

CLOSE_WAIT_S = 3.0  # that a person waits at the end, whatever the disk does


class ClosedLog(Exception):  # noqa: N818
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
        """Go on with a session that was left; ClosedLog where it is over, ValueError where it has no file.

        It goes on in the file that holds all of it; where no single file does, all of it is written anew.
        """
        if log.closed:
            raise ClosedLog(f"session {log.session} is closed, nothing is added to it")
        if not log.files:
            raise ValueError(f"session {log.session} has no file to go on in")
        lines = [encode(event) for event in log.events]
        file = log.files[0]
        name = log.session if id_in(log.session) == log.session else file.stem  # a stranger's id is no path
        return cls(file.parent, name, means, lines=lines, begun=log.whole_file)

    def append(self, event: AnyEvent) -> Receipt:
        """Take an event in, at once; ClosedLog after a `closed` event or after `close`."""
        if self._closed:
            raise ClosedLog(f"session {self._session} is closed, nothing is added to it")
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
