"""The full-screen program: gives keys to its screens, and ends in good order whatever happens."""

import asyncio
import contextlib
import os
from collections.abc import Awaitable, Callable, Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from textual import events
from textual.app import App, ComposeResult
from textual.driver import Driver
from textual.filter import LineFilter
from textual.screen import Screen
from textual.widgets import Static

from holdtimer.errors import ExitCode
from holdtimer.live.keys import FOCUS_IN, FOCUS_OUT, LEAVE, Key
from holdtimer.live.terminal import LEFT_EXIT, Leave, PostedKeys, SessionKeys
from holdtimer.screens.themes import EVENING, FIELDS_CSS, filters_for, wear


class KeyedScreen(Screen[Any]):
    """A screen that takes keys by name and time; all of them, so that nothing can shadow a tap."""

    types_text = False  # while a text is typed, keys belong to it
    is_over = False

    def end(self, result: object = None) -> None:
        """Give way to what comes next, once: a key or a tick still in line must not take that away too."""
        if not self.is_over:
            self.is_over = True
            self.dismiss(result)

    def press(self, name: str, at: float) -> None:
        """Take a key that reached the program at `at` (real seconds of the steady clock)."""


if TYPE_CHECKING:
    from holdtimer.session.debounce import Settings

_SAME = {"add": "plus", "subtract": "minus", "ctrl+h": "backspace"}

_FIRST_CSS = "#first { width: 1fr; height: 1fr; content-align: center middle; text-style: bold; }"

Story = Callable[["HoldtimerApp"], Awaitable[int]]
Job = Callable[[SessionKeys], None]


class ThemedApp(App[int]):
    """An app in one of our themes, on whatever terminal; `fault` is what went wrong, once it has run."""

    ENABLE_COMMAND_PALETTE = False

    def __init__(self, theme: str) -> None:
        super().__init__()
        self.fault: Exception | None = None
        self.animation_level = "none"
        self._terminal_filters = filters_for(self.console, wants_colour=not self.no_color)
        wear(self, theme)

    def get_line_filters(self) -> Sequence[LineFilter]:
        """Return what each line goes through on its way to the terminal."""
        return (*super().get_line_filters(), *self._terminal_filters)

    def _handle_exception(self, error: Exception) -> None:
        """End with the fault kept for the caller, instead of a traceback that shows what is in memory."""
        if self._exception is None:
            self._exception = self.fault = error
            self._exception_event.set()
        self._return_code = ExitCode.INTERNAL_ERROR
        self._close_messages_no_wait()


class HoldtimerApp(ThemedApp):
    """Runs one story: a coroutine that shows screens one after another and returns the exit code.

    `settings` say how the person's keys are judged on pages. `fault` is what went wrong, once it has run.
    """

    CSS = FIELDS_CSS + _FIRST_CSS
    BINDINGS: ClassVar = []
    AUTO_FOCUS = None

    def __init__(self, story: Story, theme: str = EVENING.name) -> None:
        super().__init__(theme)
        self._story = story
        self._posted: PostedKeys | None = None  # where a job takes keys that Textual reads
        self.settings: Settings | None = None

    def compose(self) -> ComposeResult:
        """Lay out what is there before the first screen of the story."""
        yield Static("holdtimer", id="first")

    def on_mount(self) -> None:
        """Begin the story."""
        self.run_worker(self._tell(), exit_on_error=True)

    def get_driver_class(self) -> type[Driver]:
        """Return what reads keys and sends frames: our own, but on Windows."""
        if os.name == "nt":
            return super().get_driver_class()
        from holdtimer.screens.terminal import Terminal

        return Terminal

    async def run_job(self, job: Job) -> None:
        """Let `job` take the keys, in a thread of its own, until it returns. Raises what it raises.

        Where the app ends before, the job is asked to leave.
        """
        await getattr(self._driver, "run_job", self._run_by_posted_keys)(job)

    async def _run_by_posted_keys(self, job: Job) -> None:
        posted = self._posted = PostedKeys()
        try:
            await asyncio.to_thread(job, posted)
        finally:
            posted.post(Leave("terminated"))
            self._posted = None

    def take_in(self, given: Key | Leave) -> None:
        """Take what came from the keyboard: it is for whatever is on screen, or ends the program."""
        if self._posted is not None:
            self._posted.post(given)
        elif isinstance(given, Leave):
            code = LEFT_EXIT.get(given.reason, ExitCode.STOPPED)
            self.exit(code, return_code=code)
        elif given.name in (FOCUS_IN, FOCUS_OUT):
            return
        elif self._types():
            self.post_message(events.Key(given.name, given.text or None))
        elif isinstance(self.screen, KeyedScreen):
            self.screen.press(given.name, given.at)

    async def on_event(self, event: events.Event) -> None:
        """Take keys and touches that Textual reads before it makes anything of them."""
        if isinstance(event, (events.Key, events.MouseDown)) and not event.is_forwarded and not self._types():
            name = event.key if isinstance(event, events.Key) else "pointer"
            self.take_in(Leave("quit") if name in LEAVE else Key(_SAME.get(name, name), event.time))
        elif not isinstance(event, (events.MouseUp, events.Click, events.Paste)):
            await super().on_event(event)

    def _types(self) -> bool:
        """Whether a text is being typed, which keys belong to then."""
        stack = self.screen_stack
        return bool(stack) and isinstance(stack[-1], KeyedScreen) and stack[-1].types_text

    def on_app_focus(self, event: events.AppFocus) -> None:
        """Say that keys reach the program again."""
        self.take_in(Key(FOCUS_IN, event.time))

    def on_app_blur(self, event: events.AppBlur) -> None:
        """Say that keys reach the program no more."""
        self.take_in(Key(FOCUS_OUT, event.time))

    def ring_from_thread(self) -> None:
        """Ring the terminal's bell, whatever thread this is called in; nothing while the app does not run."""
        if self._loop is not None:
            with contextlib.suppress(RuntimeError):  # its loop is closed
                self._loop.call_soon_threadsafe(self.bell)

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
