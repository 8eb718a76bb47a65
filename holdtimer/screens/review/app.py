"""The app of the review."""

import asyncio
import os
import signal
from collections.abc import Sequence
from functools import partial
from typing import ClassVar

from textual.app import App
from textual.binding import Binding, BindingType
from textual.filter import LineFilter

from holdtimer.errors import ExitCode
from holdtimer.live.review import Review
from holdtimer.screens.review.sessions import SessionsScreen
from holdtimer.screens.themes import EVENING, filters_for, wear

_CSS = """
Footer { background: $field; color: $ink; }
Footer FooterKey { background: $field; color: $ink; }
Footer FooterKey .footer-key--key { background: $ink; color: $field; padding: 0 1; }
Footer FooterKey .footer-key--description { background: $field; color: $ink; padding: 0 1 0 0; }
Footer FooterKey:hover { background: $field; color: $ink; text-style: underline; }
Footer FooterKey.-disabled-binding { display: none; }
Toast { background: $ink; color: $field; border: none; padding: 0 1; width: auto; max-width: 76; }
"""


class ReviewApp(App[int]):
    """Shows the sessions of one person; begins with one of them where its id is given."""

    CSS = _CSS
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [Binding("ctrl+q,ctrl+c", "leave", show=False, priority=True)]

    def __init__(self, review: Review, first: str | None = None, theme: str = EVENING.name) -> None:
        super().__init__()
        self._review, self._first = review, first
        self.fault: Exception | None = None
        self.animation_level = "none"
        self._terminal_filters = filters_for(self.console, wants_colour=not self.no_color)
        wear(self, theme)

    def get_line_filters(self) -> Sequence[LineFilter]:
        """Return what each line goes through on its way to the terminal."""
        return (*super().get_line_filters(), *self._terminal_filters)

    def on_mount(self) -> None:
        """Show the sessions; give the terminal back whatever ends the program."""
        codes = {"SIGTERM": ExitCode.TERMINATED, "SIGHUP": ExitCode.HANG_UP}
        for name, code in codes.items():
            if hasattr(signal, name) and os.name == "posix":
                loop = asyncio.get_running_loop()
                loop.add_signal_handler(getattr(signal, name), partial(self.exit, code, code))
        self.push_screen(SessionsScreen(self._review, self._first))

    def action_leave(self) -> None:
        """Leave from wherever it is."""
        self.exit(0)

    def _handle_exception(self, error: Exception) -> None:
        """End with the fault kept for the caller, instead of a traceback that shows what is in memory."""
        if self._exception is None:
            self._exception = self.fault = error
            self._exception_event.set()
        self._return_code = ExitCode.INTERNAL_ERROR
        self._close_messages_no_wait()
