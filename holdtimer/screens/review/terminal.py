"""The terminal under the review: Textual's own, which outlives bytes that make no key, and being stopped.

Textual has no public way to read keys and the pointer: what of it is private stands here alone. Where a
release of Textual has moved it, or on Windows, this can't be imported, and Textual's own terminal is used.
"""

import codecs
import os
import select
import signal
from collections.abc import Callable

from textual import events
from textual._xterm_parser import XTermParser
from textual.drivers.linux_driver import LinuxDriver

from holdtimer.errors import ExitCode
from holdtimer.live.terminal import Modes
from holdtimer.session.events import MAX_TEXT

_LOOK_S = 0.1
_SILENT_S = 2.0  # a paste whose end was lost is over after this much silence
_PASTE_ENDS = "\x1b[201~"
# the other screen, no cursor, no wrapping; focus, pastes, and keys told in full where a terminal can
_ON = "\x1b[?1049h\x1b[?25l\x1b[?7l\x1b[?1004h\x1b[?2004h\x1b[>1u"
_OFF = b"\x1b[<u\x1b[?2004l\x1b[?1004l\x1b[?1000l\x1b[?1002l\x1b[?1003l\x1b[?1006l\x1b[?1015l"
_OFF += b"\x1b[?7h\x1b[?25h\x1b[?1049l"


class ReviewTerminal(LinuxDriver):
    """Reads on whatever was read, ends when the terminal is gone, and takes it back after a stop."""

    _before: Modes  # how the terminal is set for others, and while it is ours
    _ours: Modes

    def run_input_thread(self) -> None:
        """Read keys and the pointer until it is over, or the terminal is gone."""
        decoder = codecs.getincrementaldecoder("utf-8")("replace")
        parser, silent_s, letters = XTermParser(self._debug), 0.0, 0
        while not self.exit_event.is_set():
            data = self._read()
            if data is None:
                self._later(lambda: self._app.exit(ExitCode.HANG_UP, ExitCode.HANG_UP))
                return
            text = decoder.decode(data)
            silent_s, letters = (0.0, letters) if data else (silent_s + _LOOK_S, 0)
            if _SILENT_S <= silent_s < _SILENT_S + _LOOK_S:
                text = _PASTE_ENDS
            try:
                for message in parser.feed(text) if text else parser.tick():
                    is_letter = isinstance(message, events.Key) and message.is_printable
                    letters += is_letter
                    if letters <= MAX_TEXT or not is_letter:  # no text there is longer
                        self.process_message(message)
            except Exception:  # such as a key by a number that no character has
                parser = _anew(parser, self._debug)

    def _read(self) -> bytes | None:
        """Return what came, nothing after a while without a key; None where the terminal is gone."""
        try:
            if not select.select([self.fileno], [], [], _LOOK_S)[0]:
                return b""
            return os.read(self.fileno, 4096) or None
        except OSError:
            return None

    def _later(self, call: Callable[[], object]) -> None:
        """Call in the loop of the app, from any thread and from the handler of a signal."""
        self._loop.call_soon_threadsafe(call)

    def start_application_mode(self) -> None:
        """Take the terminal over."""
        self._before = Modes(self.fileno)
        super().start_application_mode()  # type: ignore[no-untyped-call]
        self._ours = Modes(self.fileno)

    def _sigtstp_application(self, *_: object) -> None:
        os.write(self.fileno, _OFF)  # not by the thread that writes, which is about to stand still
        self._before.give_back()
        os.kill(os.getpid(), signal.SIGSTOP)

    def _sigcont_application(self, *_: object) -> None:
        self._later(self._go_on)

    def _go_on(self) -> None:
        """Set the terminal again, which the shell has used meanwhile, and draw all of it."""
        if self._writer_thread is None or self.exit_event.is_set():
            return
        self._ours.give_back()
        self.write(_ON)
        self._enable_mouse_support()
        self._app.refresh()


def _anew(parser: XTermParser, is_debug: bool) -> XTermParser:
    """Return a parser that knows how this terminal tells where the pointer is."""
    new = XTermParser(is_debug)
    new.mouse_pixels = parser.mouse_pixels
    new.terminal_size, new.terminal_pixel_size = parser.terminal_size, parser.terminal_pixel_size
    return new
