"""Keys from a file descriptor: a terminal set for single keys, and what ends a session from outside."""

import contextlib
import os
import queue
import select
import signal
import threading
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from types import FrameType, TracebackType
from typing import TYPE_CHECKING, Any, Protocol

from holdtimer.errors import ExitCode
from holdtimer.live.keys import LEAVE, Key, KeyParser
from holdtimer.sound.player import Inbox, steady

if TYPE_CHECKING:  # slow to load, and the first frame waits for this
    from holdtimer.session.events import LeaveReason

LEFT_EXIT = {"terminated": ExitCode.TERMINATED, "hang-up": ExitCode.HANG_UP}  # else STOPPED

_LEAVING: "dict[int, LeaveReason]" = {signal.SIGINT: "quit", signal.SIGTERM: "terminated"}
if hasattr(signal, "SIGHUP"):
    _LEAVING[signal.SIGHUP] = "hang-up"


_LAST_READ_S = 0.2
_LAST_KEYS_S = 0.05  # so long a key pressed just before the program was asked to end may be on its way
_MOST_UNTAKEN = 65_536  # bytes; a keyboard takes minutes for as many
_LOOK_S = 0.01


@dataclass(frozen=True, slots=True)
class Leave:
    """A request to leave the session."""

    reason: "LeaveReason"


class Keys(Protocol):
    """Where keys come from."""

    def take(self, wait_s: float) -> list[Key | Leave]:
        """Return what came, after waiting at most `wait_s` real seconds for it."""
        ...


class SessionKeys(Keys, Protocol):
    """Keys that can run a session."""

    def read_until(self) -> float | None:
        """Return the time (steady clock, s) by which every key pressed has been taken; None if not known."""
        ...


class KeySource:
    """Reads keys in a thread of its own, so that their times do not wait for what is printed.

    To be used in a `with`, from the main thread. `pauses` is called before the program is stopped, where that
    is known ahead, and `goes_on` once it continues; the terminal takes single keys again then.
    """

    def __init__(
        self, fd: int, pauses: Callable[[], None] = lambda: None, goes_on: Callable[[], None] = lambda: None
    ) -> None:
        self._fd = fd
        self._pauses, self._goes_on = pauses, goes_on
        self.is_terminal = os.isatty(fd)  # somebody can answer there
        self._parser = KeyParser()
        self._inbox: Inbox[tuple[bytes | Leave, float]] = Inbox()
        self._passing_on = threading.Lock()  # held while bytes are on their way into the inbox
        self._passed_on = self._taken = 0  # bytes
        self._leaving: Leave | None = None
        self._inside = contextlib.ExitStack()

    def __enter__(self) -> "KeySource":
        modes = self._inside.enter_context(single_keys(self._fd))
        self._inside.enter_context(self._signals(modes))
        self._inside.enter_context(self._reading())
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._inside.close()

    def take(self, wait_s: float) -> list[Key | Leave]:
        """Return what came, as `Keys` do."""
        leaving, self._leaving = self._leaving, None
        if leaving is not None:
            return [leaving]
        try:
            given, at = self._inbox.get(wait_s)
        except queue.Empty:
            return _with_leaves(self._parser.settle(steady()))
        if not isinstance(given, Leave):
            return self._decoded(given, at)
        keys = self._pressed_before()
        self._leaving = given if keys else None  # alone, so that whoever takes a key first does not miss it
        return keys or [given]

    def _decoded(self, data: bytes, at: float) -> list[Key | Leave]:
        self._taken += len(data)
        return _with_leaves(self._parser.feed(data, at))

    def _pressed_before(self) -> list[Key | Leave]:
        """Return what was pressed before the program was asked to end, and is only being read."""
        keys: list[Key | Leave] = []
        until = steady() + _LAST_KEYS_S
        while self.read_until() is None and steady() < until:
            with contextlib.suppress(queue.Empty):
                given, at = self._inbox.get(_LOOK_S)
                keys += [] if isinstance(given, Leave) else self._decoded(given, at)
        return keys

    def leave(self, reason: "LeaveReason") -> None:
        """Ask what takes the keys to leave, from any thread."""
        self._inbox.put((Leave(reason), steady()))

    def read_until(self) -> float | None:
        """Return by when every key pressed has been taken, as `SessionKeys` do."""
        if os.name == "nt":
            return None
        if not self._passing_on.acquire(blocking=False):
            return None
        try:
            now = steady()
            pending, _, _ = select.select([self._fd], [], [], 0)
            is_all_taken = not pending and self._inbox.empty() and not self._parser.is_waiting
        except (OSError, ValueError):  # the terminal is gone, and nothing more comes from it
            return None
        finally:
            self._passing_on.release()
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
        is_more = True
        while is_more and self._waits_for_keys(enough):
            came_at = None if os.name == "nt" else steady()  # what comes after may wait for other threads
            with self._passing_on:
                is_more = self._pass_on(came_at)

    def _pass_on(self, came_at: float | None) -> bool:
        """Read what there is and pass it on, with the time it came; False at the end of the input."""
        try:
            if came_at is not None and not select.select([self._fd], [], [], 0)[0]:
                return True  # somebody else has read it
            data = os.read(self._fd, 1024)
        except OSError:
            data = b""
        # single keys have no end of input: a terminal that ends is gone
        end = Leave("hang-up" if self.is_terminal else "end-of-input")
        self._inbox.put((data or end, steady() if came_at is None else came_at))
        self._passed_on += len(data)
        return bool(data)

    def _waits_for_keys(self, enough: int) -> bool:
        """Wait until there is something to read; False once the source is closed."""
        if os.name == "nt":  # which can wait for sockets alone
            return True
        while self._passed_on - self._taken > _MOST_UNTAKEN:  # a flood waits in the terminal, not in memory
            if select.select([enough], [], [], _LOOK_S)[0]:
                return False
        ready, _, _ = select.select([self._fd, enough], [], [])
        return enough not in ready

    @contextlib.contextmanager
    def _signals(self, modes: "Modes") -> Iterator[None]:
        def leave(number: int, _: FrameType | None) -> None:
            self.leave(_LEAVING[number])

        def stop(_: int, __: FrameType | None) -> None:
            self._pauses()
            modes.give_back()
            os.kill(os.getpid(), signal.SIGSTOP)

        def go_on(_: int, __: FrameType | None) -> None:
            modes.take()
            self._goes_on()

        wanted: dict[int, Callable[[int, FrameType | None], None]] = dict.fromkeys(_LEAVING, leave)
        if hasattr(signal, "SIGCONT"):
            wanted |= {signal.SIGTSTP: stop, signal.SIGCONT: go_on}
        before = {number: signal.signal(number, handler) for number, handler in wanted.items()}
        try:
            yield
        finally:
            for number, handler in before.items():
                signal.signal(number, handler)


def _with_leaves(keys: Iterable[Key]) -> list[Key | Leave]:
    return [Leave("quit") if key.name in LEAVE else key for key in keys]


class Modes:
    """The settings of a terminal: those for single keys, and those of before.

    Anything but a terminal, or one that is gone, is left as it is.
    """

    def __init__(self, fd: int) -> None:
        self._fd = fd
        self._before: list[Any] | None = None
        with contextlib.suppress(ImportError):
            import termios

            with contextlib.suppress(termios.error):
                self._before = termios.tcgetattr(fd)

    def take(self) -> None:
        """Let the terminal pass on each key at once."""
        if self._before is not None and self._is_ours():
            _set(self._fd, _for_single_keys(self._before, os.fpathconf(self._fd, "PC_VDISABLE")))

    def give_back(self) -> None:
        """Set the terminal as it was before."""
        if self._before is not None and self._is_ours():
            _set(self._fd, self._before)

    def forget_typed(self) -> None:
        """Throw away what was typed and not yet read; not while somebody is about to read it."""
        if self._before is not None:
            import termios

            with contextlib.suppress(termios.error):
                termios.tcflush(self._fd, termios.TCIFLUSH)

    def _is_ours(self) -> bool:
        """Whether the terminal may be set: one that is in the background would be stopped for it."""
        try:
            return os.tcgetpgrp(self._fd) == os.getpgrp()
        except OSError:
            return True  # no terminal that controls this process


class PostedKeys:
    """Keys that somebody else reads, and posts here with the time they came."""

    def __init__(self) -> None:
        self._inbox: Inbox[Key | Leave] = Inbox()

    def post(self, given: Key | Leave) -> None:
        """Pass on a key, or the wish to leave."""
        self._inbox.put(given)

    def take(self, wait_s: float) -> list[Key | Leave]:
        """Return what came, as `Keys` do."""
        with contextlib.suppress(queue.Empty):
            return [self._inbox.get(wait_s)]
        return []

    def read_until(self) -> None:
        """Return that it is not known."""


@contextlib.contextmanager
def single_keys(fd: int) -> Iterator[Modes]:
    """Set a terminal to pass on each key at once, and set it back; typed-ahead keys are thrown away."""
    modes = Modes(fd)
    modes.take()
    modes.forget_typed()
    try:
        yield modes
    finally:
        modes.give_back()
        modes.forget_typed()


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
