"""Notices of what is wrong with sound, keys or the log."""

from typing import Any

from textual.reactive import reactive

from holdtimer.screens.lettering import plain_lines
from holdtimer.screens.line_setting import large_notice
from holdtimer.screens.widgets.painted import Painted


class Notice(Painted):
    """Words in reverse, in large letters from four rows on, with a "!" before them in one row.

    It takes no row while there is nothing to say.
    """

    DEFAULT_CSS = """
    Notice { width: 1fr; height: 1; text-style: bold reverse; }
    Notice.-empty { display: none; }
    """

    text: reactive[str] = reactive("")

    def __init__(self, text: str = "", **named: Any) -> None:
        super().__init__(**named)
        self.set_reactive(Notice.text, text)
        self.set_class(not text, "-empty")

    def watch_text(self) -> None:
        """Show the new notice, or give the row back."""
        self.set_class(not self.text, "-empty")
        self.repaint()

    def paint(self, columns: int, rows: int) -> list[str]:
        """Return the notice; a plain one is shortened by "…" where it is too long."""
        plain = [""] * ((rows - 1) // 2) + plain_lines(f" !  {self.text}", columns, 1)
        return large_notice(self.text, columns, rows) or plain
