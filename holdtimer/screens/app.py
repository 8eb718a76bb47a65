"""The full-screen program: routes keys to our screens, and ends in good order whatever happens."""

import asyncio
import contextlib
import os
import select
import selectors
import signal
import sys
from asyncio import get_running_loop
from collections.abc import Awaitable, Callable, Sequence
from functools import partial
from threading import Thread
from typing import TYPE_CHECKING, ClassVar

from textual import events
from textual.app import App, ComposeResult
from textual.filter import LineFilter
from textual.widgets import Static

from holdtimer.errors import ExitCode
from holdtimer.screens.keyed import KeyedScreen
from holdtimer.screens.themes import EVENING, FIELDS_CSS, filters_for, wear
from holdtimer.sound.player import steady

if TYPE_CHECKING:
    from holdtimer.session.debounce import Settings
    from holdtimer.session.events import LeaveReason

LEAVE = frozenset({"ctrl+c", "ctrl+q"})
_LEFT_AND_RIGHT = ("shift", "control", "alt", "super", "hyper", "meta")
_MODIFIERS = frozenset(
    [f"{side}_{name}" for side in ("left", "right") for name in _LEFT_AND_RIGHT]
    + ["caps_lock", "num_lock", "scroll_lock", "iso_level3_shift", "iso_level5_shift"]
)
_SAME = {"add": "plus", "subtract": "minus", "ctrl+h": "backspace"}

_FIRST_CSS = "#first { width: 1fr; height: 1fr; content-align: center middle; text-style: bold; }"

Story = Callable[["HoldtimerApp"], Awaitable[int]]
Leaving = Callable[["LeaveReason"], None]


class HoldtimerApp(App[int]):
    """Runs one story: a coroutine that shows screens one after another and returns the exit code.

    `leaving` is called with "quit", "terminated" or "hang-up" when the program is to end before the story.
    `settings` say how the person's keys are judged on pages. `fault` is what went wrong, once it has run.
    """

    CSS = FIELDS_CSS + _FIRST_CSS
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar = []
    AUTO_FOCUS = None

    def __init__(self, story: Story, theme: str = EVENING.name) -> None:
        super().__init__()
        self._story = story
        self.leaving: Leaving | None = None
        self.settings: Settings | None = None
        self.fault: Exception | None = None
        self.animation_level = "none"
        self._terminal_filters = filters_for(self.console, wants_colour=not self.no_color)
        wear(self, theme)

    def get_line_filters(self) -> Sequence[LineFilter]:
        """Return what each line goes through on its way to the terminal."""
        return (*super().get_line_filters(), *self._terminal_filters)

    def compose(self) -> ComposeResult:
        """Lay out what is there before the first screen of the story."""
        yield Static("holdtimer", id="first")

    def on_mount(self) -> None:
        """Begin the story."""
        for name in ("SIGTERM", "SIGHUP", "SIGINT"):
            if hasattr(signal, name) and os.name == "posix":
                number = getattr(signal, name)
                get_running_loop().add_signal_handler(number, self._on_signal, number)
        self.run_worker(self._tell(), exit_on_error=True)

    async def on_event(self, event: events.Event) -> None:
        """Hand keys and touches to our own screens before Textual makes anything of them."""
        if isinstance(event, (events.Key, events.MouseDown)) and not event.is_forwarded and not self._types():
            self._pressed(event)
            return
        if isinstance(event, (events.MouseUp, events.Click, events.Paste)):
            return
        await super().on_event(event)

    def _types(self) -> bool:
        """Whether a text is being typed, which keys belong to then."""
        stack = self.screen_stack
        return bool(stack) and isinstance(stack[-1], KeyedScreen) and stack[-1].types_text

    def on_app_focus(self, event: events.AppFocus) -> None:
        """Say that keys reach the program again."""
        if isinstance(self.screen, KeyedScreen):
            self.screen.keyboard(True, event.time)

    def on_app_blur(self, event: events.AppBlur) -> None:
        """Say that keys reach the program no more."""
        if isinstance(self.screen, KeyedScreen):
            self.screen.keyboard(False, event.time)

    def once_read(self, then: Callable[[float], None]) -> None:
        """Call `then` with a time (steady clock, s) once every key pressed by then has been handled.

        It is not called where keys may be on their way through Textual's reader.
        """
        now = steady()
        if self._loop is not None and self.is_reader_idle():
            # by the way a key takes from the reader, so that it comes after every key before it
            asyncio.run_coroutine_threadsafe(
                self._post_message(events.Callback(partial(then, now))), self._loop
            )

    def is_reader_idle(self) -> bool:
        """Whether the reader waits for input and none is there: whatever came has been posted.

        In this order: after the look at the terminal, a reader that waits has posted all it had read before.
        """
        fd, reader = getattr(self._driver, "fileno", None), getattr(self._driver, "_key_thread", None)
        if os.name != "posix" or not isinstance(fd, int) or not isinstance(reader, Thread):
            return False
        if select.select([fd], [], [], 0)[0]:
            return False
        frame = sys._current_frames().get(reader.ident or 0)
        return frame is not None and frame.f_code is selectors.SelectSelector.select.__code__

    def ring_from_thread(self) -> None:
        """Ring the terminal's bell, whatever thread this is called in; nothing while the app does not run."""
        if self._loop is not None:
            with contextlib.suppress(RuntimeError):  # its loop is closed
                self._loop.call_soon_threadsafe(self.bell)

    def _pressed(self, event: events.Key | events.MouseDown) -> None:
        name = event.key if isinstance(event, events.Key) else "pointer"
        if name in LEAVE:
            self._end("quit", ExitCode.STOPPED)
        elif name.rpartition("+")[2] not in _MODIFIERS and isinstance(self.screen, KeyedScreen):
            self.screen.press(_SAME.get(name, name), event.time)

    def _on_signal(self, number: int) -> None:
        if number == signal.SIGINT:
            self._end("quit", ExitCode.STOPPED)
        else:
            is_term = number == signal.SIGTERM
            code = ExitCode.TERMINATED if is_term else ExitCode.HANG_UP
            self._end("terminated" if is_term else "hang-up", code)

    def _end(self, why: "LeaveReason", code: int) -> None:
        if self.leaving is not None:
            self.leaving(why)
        self.exit(code, return_code=code)

    def blank(self) -> None:
        """Take away what was there before the story, so that it is not seen between two screens."""
        self.screen_stack[0].query_one("#first", Static).update("")

    async def _tell(self) -> None:
        painted = asyncio.Event()
        self.call_after_refresh(painted.set)
        await painted.wait()
        try:
            code = await self._story(self)
        except Exception as error:
            self.fault, code = error, ExitCode.INTERNAL_ERROR
        self.exit(code, return_code=code)

    def _handle_exception(self, error: Exception) -> None:
        """End with the fault kept for the caller, instead of a traceback that shows what is in memory."""
        if self._exception is None:
            self._exception = self.fault = error
            self._exception_event.set()
        self._return_code = ExitCode.INTERNAL_ERROR
        self._close_messages_no_wait()
