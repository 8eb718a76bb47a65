"""One-line notices of what is wrong with sound, keys or the log."""

from typing import Any

from textual.reactive import reactive

from holdtimer.screens.lettering import plain_lines
from holdtimer.screens.widgets.painted import Painted


class Notice(Painted):
    """A line in reverse with a "!" before it; it takes no row while there is nothing to say."""

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

    def paint(self, columns: int, rows: int) -> list[str]:  # noqa: ARG002
        """Return the notice, shortened by "…" where it is too long."""
        return plain_lines(f" !  {self.text}", columns, 1)
