"""Keys from a file descriptor: a terminal set for single keys, and what ends a session from outside."""

import contextlib
import os
import queue
import select
import signal
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from types import FrameType, TracebackType
from typing import Any

from holdtimer.live.keys import LEAVE, Key, KeyParser
from holdtimer.session.events import LeaveReason
from holdtimer.sound.player import steady

_LEAVING: dict[int, LeaveReason] = {signal.SIGINT: "quit", signal.SIGTERM: "terminated"}
if hasattr(signal, "SIGHUP"):
    _LEAVING[signal.SIGHUP] = "hang-up"


_LAST_READ_S = 0.2


@dataclass(frozen=True, slots=True)
class Leave:
    """A request to leave the session."""

    reason: LeaveReason


class KeySource:
    """Reads keys in a thread of its own, so that their times do not wait for what is printed.

    To be used in a `with`, from the main thread.
    """

    def __init__(self, fd: int) -> None:
        self._fd = fd
        self.is_terminal = os.isatty(fd)  # somebody can answer there
        self._parser = KeyParser()
        self._inbox: queue.SimpleQueue[tuple[bytes | Leave, float]] = queue.SimpleQueue()
        self._passing_on = threading.Lock()  # held while bytes are on their way into the inbox
        self._inside = contextlib.ExitStack()

    def __enter__(self) -> "KeySource":
        self._inside.enter_context(self._signals())
        self._inside.enter_context(single_keys(self._fd))
        self._inside.enter_context(self._reading())
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._inside.close()

    def take(self, wait_s: float) -> list[Key | Leave]:
        """Return what came, after waiting at most `wait_s` real seconds for it."""
        try:
            given, at = self._inbox.get(timeout=wait_s)
        except queue.Empty:
            keys = list(self._parser.settle(steady()))
        else:
            if isinstance(given, Leave):
                return [given]
            keys = self._parser.feed(given, at)
        return [Leave("quit") if key.name in LEAVE else key for key in keys]

    def read_until(self) -> float | None:
        """Return the time (steady clock, s) by which every key pressed has been taken; None if not known."""
        if os.name == "nt":
            return None
        with self._passing_on:
            now = steady()
            pending, _, _ = select.select([self._fd], [], [], 0)
            is_all_taken = not pending and self._inbox.empty() and not self._parser.is_waiting
        return now if is_all_taken else None

    @contextlib.contextmanager
    def _reading(self) -> Iterator[None]:
        enough, end = os.pipe()
        thread = threading.Thread(target=self._read, args=(enough,), name="keys", daemon=True)
        thread.start()
        try:
            yield
        finally:
            os.close(end)
            thread.join(_LAST_READ_S)
            if not thread.is_alive():
                os.close(enough)

    def _read(self, enough: int) -> None:
        while self._waits_for_keys(enough):
            with self._passing_on:
                if not self._pass_on():
                    return

    def _pass_on(self) -> bool:
        """Read what there is and pass it on; False at the end of the input."""
        try:
            data = os.read(self._fd, 1024)
        except OSError:
            data = b""
        # single keys have no end of input: a terminal that ends is gone
        end = Leave("hang-up" if self.is_terminal else "end-of-input")
        self._inbox.put((data or end, steady()))
        return bool(data)

    def _waits_for_keys(self, enough: int) -> bool:
        """Wait until there is something to read; False once the source is closed."""
        if os.name == "nt":  # which can wait for sockets alone
            return True
        ready, _, _ = select.select([self._fd, enough], [], [])
        return enough not in ready

    @contextlib.contextmanager
    def _signals(self) -> Iterator[None]:
        def leave(number: int, _: FrameType | None) -> None:
            self._inbox.put((Leave(_LEAVING[number]), steady()))

        before = {number: signal.signal(number, leave) for number in _LEAVING}
        try:
            yield
        finally:
            for number, handler in before.items():
                signal.signal(number, handler)


@contextlib.contextmanager
def single_keys(fd: int) -> Iterator[None]:
    """Set a terminal to pass on each key at once, and set it back; typed-ahead keys are thrown away.

    Anything but a terminal, or one that is gone, is left as it is.
    """
    try:
        import termios
    except ImportError:
        yield
        return
    try:
        before = termios.tcgetattr(fd)
    except termios.error:
        yield
        return
    _set(fd, _for_single_keys(before, os.fpathconf(fd, "PC_VDISABLE")))
    try:
        yield
    finally:
        _set(fd, before)


def _for_single_keys(before: list[Any], no_key: int) -> list[Any]:
    """Return the settings with which every key reaches the program but Ctrl+C, which stays a signal."""
    import termios

    iflag, oflag, cflag, lflag, ispeed, ospeed, cc = before
    iflag &= ~(termios.IXON | termios.IXOFF)  # Ctrl+Q leaves, Ctrl+S is a tap
    lflag &= ~(termios.ECHO | termios.ICANON | termios.IEXTEN)
    cc = list(cc)
    cc[termios.VMIN], cc[termios.VTIME] = 1, 0
    cc[termios.VQUIT] = cc[termios.VSUSP] = bytes([no_key])
    return [iflag, oflag, cflag, lflag, ispeed, ospeed, cc]


def _set(fd: int, settings: list[Any]) -> None:
    import termios

    with contextlib.suppress(termios.error):  # the terminal is gone
        termios.tcsetattr(fd, termios.TCSANOW, settings)
        termios.tcflush(fd, termios.TCIFLUSH)
