"""Output in a thread of its own, so that nobody waits for a reader that has stalled."""

import contextlib
import io
import os
import select
import sys
import threading
from collections import deque
from collections.abc import Callable, Iterator
from typing import Any

from holdtimer.sound.player import steady
from holdtimer.text import STEERING

_AT_ONCE = 4096  # bytes
LAST_LINES_S = 1.0  # so long nothing may be taken at the end before what is left is given up


class Output:
    """Writes what it is given to a file descriptor, in order and in its own time.

    `caught_up` is called each time all is written, in the thread that writes.
    """

    def __init__(self, fd: int, caught_up: Callable[[], None] | None = None) -> None:
        self.fd = fd
        self._caught_up = caught_up
        self._ended: Callable[[], None] | None = None
        self._changed = threading.Condition()
        self._waiting: deque[tuple[bytes, float]] = deque()  # with the time it was handed in
        self._writing_since: float | None = None
        self._taken = 0  # bytes
        self._is_given_up = False
        self._has_ended = False
        threading.Thread(target=self._run, name="output", daemon=True).start()

    def write(self, data: bytes) -> None:
        """Take what is to be written; nothing once the output has ended."""
        with self._changed:
            if not self._has_ended:
                self._waiting.append((data, steady()))
                self._changed.notify_all()

    def when_ended(self, then: Callable[[], None]) -> None:
        """Call `then` once, from whatever thread, as soon as nothing can be written any more."""
        with self._changed:
            self._ended = then
            if not self._has_ended:
                return
        then()

    @property
    def late_s(self) -> float:
        """How long the oldest of what is not yet written has waited; 0 where all is written."""
        with self._changed:
            since = self._writing_since or (self._waiting[0][1] if self._waiting else None)
            return 0.0 if since is None else steady() - since

    def forget(self, *, is_all: bool = False) -> None:
        """Let go of what has not begun to be written; where `is_all`, of the rest of what has, too."""
        with self._changed:
            self._waiting.clear()
            self._is_given_up = is_all and self._writing_since is not None

    def drain(self, still_s: float, at_most_s: float | None = None) -> bool:
        """Wait until all is written; return False once nothing was taken for so long, or it took too long."""
        began = still_since = steady()
        with self._changed:
            taken = self._taken
            while (self._waiting or self._writing_since is not None) and not self._has_ended:
                self._changed.wait(still_s / 4)
                now = steady()
                if self._taken != taken:
                    taken, still_since = self._taken, now
                if now - still_since >= still_s or (at_most_s is not None and now - began >= at_most_s):
                    return False
            return True

    def _run(self) -> None:
        while True:
            with self._changed:
                self._changed.wait_for(lambda: self._waiting)
                data, self._writing_since = self._waiting.popleft()
                self._is_given_up = False
            try:
                self._write(memoryview(data))
            except OSError:
                self._end()
                return
            with self._changed:
                self._writing_since = None
                is_done = not self._waiting
                self._changed.notify_all()
            if is_done and self._caught_up is not None:
                self._caught_up()

    def _write(self, data: memoryview) -> None:
        while data and not self._is_given_up:
            try:
                written = os.write(self.fd, data[:_AT_ONCE])
            except BlockingIOError:  # another program that has it open has set it so
                select.select([], [self.fd], [])
                continue
            data = data[written:]
            self._taken += written

    def _end(self) -> None:
        with self._changed:
            self._waiting.clear()
            self._writing_since, self._has_ended = None, True
            self._changed.notify_all()
            then = self._ended
        if then is not None:
            then()


class _Behind(io.RawIOBase):
    """A file that hands everything to an `Output`."""

    def __init__(self, output: Output) -> None:
        self._output = output

    def writable(self) -> bool:
        return True

    def fileno(self) -> int:
        return self._output.fd

    def isatty(self) -> bool:
        return os.isatty(self._output.fd)

    def write(self, data: Any) -> int:  # whatever holds bytes
        taken = bytes(data)
        self._output.write(taken)
        return len(taken)


class _Lines(io.TextIOWrapper):
    """Lines on their way to such an output; like standard output, nothing in them steers a terminal."""

    def write(self, text: str) -> int:
        super().write(STEERING.sub("?", text))
        return len(text)


@contextlib.contextmanager
def printing_in_a_thread() -> Iterator[Output | None]:
    """Print lines through a thread that may fall behind; at the end they are waited for while they are taken.

    Nothing changes where standard output is no file.
    """
    before = sys.stdout
    try:
        output = Output(before.fileno())
        before.flush()
    except (OSError, ValueError, AttributeError):
        yield None
        return
    raw = io.BufferedWriter(_Behind(output))
    file = _Lines(raw, before.encoding, errors="replace", line_buffering=True)
    sys.stdout = file
    try:
        yield output
    finally:
        file.flush()
        sys.stdout = before
        output.drain(LAST_LINES_S)
