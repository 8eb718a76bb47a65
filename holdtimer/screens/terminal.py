"""The terminal under the full screen: our own reader of keys, and frames that nobody waits for.

It stands where Textual's driver for Linux and macOS does; on Windows that of Textual stays.
"""

import asyncio
import atexit
import contextlib
import queue
import shutil
import signal
import termios
import threading
from collections.abc import Callable
from concurrent.futures import Future
from contextlib import ExitStack
from functools import partial
from typing import Any, Protocol, cast

from textual import events
from textual.app import App
from textual.driver import Driver
from textual.geometry import Size
from textual.message import Message

from holdtimer.live.keys import Key
from holdtimer.live.output import Output
from holdtimer.live.terminal import KeySource, Leave, SessionKeys

Job = Callable[[SessionKeys], None]

FILES = (0, 1)  # what is read and written
LATE_S = 0.5  # a terminal that is later than this with a frame is sent no more of them until it has caught up
_TAKE_S = 0.05
_LAST_JOB_S = 1.5
_LAST_FRAME_S = 0.4

# reports of buttons, of the focus and of where a paste begins; the other screen, no cursor, no wrapping
_ON = b"".join(b"\x1b[?%sh" % mode for mode in (b"1049", b"1000", b"1006", b"1004", b"2004"))
_ON += b"\x1b[?25l\x1b[?7l"
_OFF = b"\x1b[?2026l\x1b[?7h\x1b[?25h"
_OFF += b"".join(b"\x1b[?%sl" % mode for mode in (b"2004", b"1004", b"1006", b"1000", b"1049"))
_FRAME_BEGINS, _FRAME_ENDS = b"\x1b[?2026h", b"\x1b[?2026l"  # shown at once, where a terminal knows how
_BREAK_OFF = b"\x18\x1b\\"  # whatever sequence was cut short


class TakesKeys(Protocol):
    """An app that takes what came from the keyboard."""

    def take_in(self, given: Key | Leave) -> None:
        """Take a key, or that the program is to end."""
        ...


class Terminal(Driver):
    """Hands each key to the app's `take_in`, or to a job that takes them itself, in a thread of its own."""

    def __init__(
        self,
        app: App[Any],
        *,
        debug: bool = False,
        mouse: bool = True,
        size: tuple[int, int] | None = None,
    ) -> None:
        super().__init__(app, debug=debug, mouse=mouse, size=size)
        self._taker = cast("TakesKeys", app)
        self._keys = KeySource(FILES[0], self._pause, self._go_on)
        self._output = Output(FILES[1], self._caught_up)
        self._output.when_ended(self._hang_up)
        self._is_behind = False
        self._jobs: queue.SimpleQueue[tuple[Job, Future[None]]] = queue.SimpleQueue()
        self._is_over = threading.Event()
        self._taking = threading.Thread(target=self._take, name="session", daemon=True)
        self._inside = ExitStack()

    # -- keys --------------------------------------------------------------------------------------------

    async def run_job(self, job: Job) -> None:
        """Let `job` take the keys until it returns. Raises what it raises."""
        done: Future[None] = Future()
        self._jobs.put((job, done))
        await asyncio.wrap_future(done)

    def _take(self) -> None:
        while not self._is_over.is_set():
            with contextlib.suppress(queue.Empty):
                self._do(*self._jobs.get_nowait())
            for given in self._keys.take(_TAKE_S):
                if not self._is_over.is_set():
                    self._post(events.Callback(partial(self._taker.take_in, given)))

    def _do(self, job: Job, done: "Future[None]") -> None:
        done.set_running_or_notify_cancel()
        try:
            job(self._keys)
        except Exception as error:
            done.set_exception(error)
        else:
            done.set_result(None)

    def _hang_up(self) -> None:
        self._keys.leave("hang-up")

    # -- frames ------------------------------------------------------------------------------------------

    def write(self, data: str) -> None:
        """Send a frame; none to a terminal that is behind."""
        if self._output.late_s > LATE_S:
            self._is_behind = True
            self._output.forget()
            if not self._output.late_s:  # it has caught up just now
                self._caught_up()
        if not self._is_behind:
            self._output.write(_FRAME_BEGINS + data.encode(errors="replace") + _FRAME_ENDS)

    def _caught_up(self) -> None:
        """Draw everything again where frames were left out, since each draws only what has changed."""
        if self._is_behind:
            self._is_behind = False
            self._post(events.Callback(self._redraw))

    def _redraw(self) -> None:
        self._app.refresh()

    def _post(self, message: Message) -> None:
        """Hand a message to the app from any thread, or from the handler of a signal."""
        with contextlib.suppress(RuntimeError):  # the loop is closed
            self._loop.call_soon_threadsafe(self._app.post_message, message)

    # -- beginning and end -------------------------------------------------------------------------------

    def start_application_mode(self) -> None:
        """Take the terminal over."""
        self._inside.enter_context(self._keys)
        # given to the loop, which any signal wakes from then on, whichever thread of ours it comes to
        self._loop.add_signal_handler(signal.SIGWINCH, self._send_size)
        self._inside.callback(self._loop.remove_signal_handler, signal.SIGWINCH)
        atexit.register(self.stop_application_mode)
        self._output.write(_ON)
        self._send_size()
        self._taking.start()

    def _send_size(self) -> None:
        size = Size(*shutil.get_terminal_size())
        self._post(events.Resize(size, size))

    def _pause(self) -> None:
        self._output.write(_OFF)
        self._output.drain(_LAST_FRAME_S)

    def _go_on(self) -> None:
        self._output.write(_ON)
        self._send_size()
        self._post(events.Callback(self._redraw))

    def disable_input(self) -> None:
        """Take no more keys; a session that still runs is left."""
        if self._taking.is_alive() and not self._is_over.is_set():
            self._is_over.set()
            self._keys.leave("terminated")
            self._taking.join(_LAST_JOB_S)

    def stop_application_mode(self) -> None:
        """Give the terminal back; one that has stalled loses its last frames for that."""
        atexit.unregister(self.stop_application_mode)
        self.disable_input()
        with self._inside.pop_all():
            self._output.write(_OFF)
            if not self._output.drain(_LAST_FRAME_S):
                self._output.forget(is_all=True)
                self._output.write(_BREAK_OFF + _OFF)
                with contextlib.suppress(termios.error):
                    termios.tcflush(self._output.fd, termios.TCOFLUSH)
                self._output.drain(_LAST_FRAME_S)
