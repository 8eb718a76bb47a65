"""The plain session: the same engine, keys and log as lines of text.

For screen readers, pipes and dumb terminals.
"""

import contextlib
import os
import queue
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from types import FrameType

from holdtimer.live.driver import Driver
from holdtimer.live.keys import FOCUS_IN, FOCUS_OUT, LEAVE, Key, KeyParser
from holdtimer.live.lines import after_failure_lines, event_line, menu_line, part_lines, tap_line
from holdtimer.log.reading import Unfinished
from holdtimer.session import events as ev
from holdtimer.session.menu import Menu
from holdtimer.session.state import Phase
from holdtimer.session.taps import Tap
from holdtimer.sound.player import steady

TICK_S = 0.05  # real seconds
_LEAVING: dict[int, ev.LeaveReason] = {signal.SIGINT: "quit", signal.SIGTERM: "terminated"}
if hasattr(signal, "SIGHUP"):
    _LEAVING[signal.SIGHUP] = "hang-up"

Input = bytes | str  # bytes that were read, or why to leave


class PlainSession:
    """Leads one session through a pair of file descriptors."""

    def __init__(self, driver: Driver, stdin: int, not_taps: frozenset[str] = frozenset()) -> None:
        self._driver = driver
        self._stdin = stdin
        self._not_taps = not_taps
        self._parser = KeyParser()
        self._inbox: queue.SimpleQueue[tuple[Input, float]] = queue.SimpleQueue()
        self._tap: Tap | None = None
        self._menu: Menu | None = None
        self._is_taking_back = False

    def run(self, begin: Callable[[], None]) -> None:
        """Begin the session and run it until it is closed or left."""
        self._driver.listen(self._show)
        threading.Thread(target=self._read, name="keys", daemon=True).start()
        with _signals(self._inbox), cbreak(self._stdin):
            begin()
            while not self._driver.is_done:
                self._turn()

    def _turn(self) -> None:
        try:
            given, at = self._inbox.get(timeout=TICK_S)
        except queue.Empty:
            keys = list(self._parser.settle(steady()))
        else:
            keys = self._keys(given, at)
        for key in keys:
            self._key(key)
        self._driver.tick()
        self._show_now()

    def _keys(self, given: Input, at: float) -> list[Key]:
        if isinstance(given, bytes):
            return self._parser.feed(given, at)
        self._driver.leave(given)  # type: ignore[arg-type]
        return []

    def _key(self, key: Key) -> None:
        if key.name in LEAVE:
            self._driver.leave("quit")
        elif key.name in (FOCUS_IN, FOCUS_OUT):
            self._driver.focus(key.name == FOCUS_IN, key.at)
        elif key.name == "question_mark":
            self._say_where()
        elif key.name not in self._not_taps:
            self._driver.key(key.name, key.at)

    def _read(self) -> None:
        """Read keys in a thread of its own, so that their times do not wait for what is printed."""
        while True:
            try:
                data = os.read(self._stdin, 1024)
            except OSError:
                data = b""
            at = steady()
            if not data:
                self._inbox.put(("end-of-input", at))
                return
            self._inbox.put((data, at))

    # -- what is printed ---------------------------------------------------------------------------------

    def _show(self, events: list[ev.AnyEvent]) -> None:
        for event in events:
            say(event_line(event))
            if isinstance(event, ev.Failure):
                for line in after_failure_lines(self._driver.engine.part()):
                    say(line)
            elif isinstance(event, (ev.Opened, ev.Rest, ev.Resumed)):
                self._say_part()
        self._show_now()

    def _show_now(self) -> None:
        """Print what a tap does, and the menu, when they changed."""
        engine, now = self._driver.engine, self._driver.now()
        menu, is_taking_back = engine.menu, engine.takes_back(now)
        if menu != self._menu:
            self._menu = menu
            say(menu_line(menu) if menu else "menu closed")
        if is_taking_back and not self._is_taking_back:
            say("Backspace once more takes the last stamp back")
        self._is_taking_back = is_taking_back
        meaning = engine.tap_meaning(now)
        if meaning is not self._tap and not self._driver.is_done:
            self._tap = meaning
            say(tap_line(meaning))

    def _say_part(self) -> None:
        part = self._driver.engine.part()
        for line in part_lines(part) if part else ("that was the last part",):
            say(line)

    def _say_where(self) -> None:
        engine, now = self._driver.engine, self._driver.now()
        session = engine.session
        left = max(0.0, session.until - now)
        current = session.open_set
        if session.phase is Phase.WINDOW and current is not None:
            state = "in work" if current.working else "out of work"
            passed = now - (current.opened_t or 0.0)
            say(f"here: {state}, {int(passed)} s gone, {int(left + 0.999)} s to the end")
        else:
            say(
                f"here: {session.phase.value}, {int(left + 0.999)} s left"
                if left
                else f"here: {session.phase.value}"
            )
        say(tap_line(engine.tap_meaning(now)))


def asks_to_go_on(stdin: int, left: Unfinished) -> bool:
    """Ask whether to go on with a session that was left: a tap does, `c` closes it.

    Raises EOFError when the input ends without an answer.
    """
    minutes = int(left.age_s // 60)
    say(f"a session was left {minutes} min ago: {left.log.session}")
    say("c: close it and begin anew")
    say("tap: go on with it")
    parser = KeyParser()
    with cbreak(stdin):
        while True:
            data = os.read(stdin, 64)
            if not data:
                raise EOFError("the input ended before an answer; use --resume or --close")
            for key in parser.feed(data, steady()):
                return key.name not in ("c", "C")


def say(line: str) -> None:
    """Print one line at once; a reader that is gone is not waited for."""
    with contextlib.suppress(BrokenPipeError, ValueError):
        sys.stdout.write(line + "\n")
        sys.stdout.flush()


@contextlib.contextmanager
def cbreak(fd: int) -> Iterator[None]:
    """Hand keys over one by one while inside, on a terminal; typed-ahead keys are thrown away."""
    try:
        import termios
        import tty
    except ImportError:
        yield
        return
    if not os.isatty(fd):
        yield
        return
    before = termios.tcgetattr(fd)
    tty.setcbreak(fd, termios.TCSAFLUSH)
    try:
        yield
    finally:
        termios.tcsetattr(fd, termios.TCSAFLUSH, before)


@contextlib.contextmanager
def _signals(inbox: "queue.SimpleQueue[tuple[Input, float]]") -> Iterator[None]:
    """Leave in good order on a signal while inside."""

    def leave(number: int, _: FrameType | None) -> None:
        inbox.put((_LEAVING[number], steady()))

    before = {number: signal.signal(number, leave) for number in _LEAVING}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
