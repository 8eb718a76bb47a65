"""The smaller words, large as far as there is room."""

from typing import Any

from textual.reactive import reactive

from holdtimer.screens.line_setting import set_lines
from holdtimer.screens.view import Line
from holdtimer.screens.widgets.painted import Painted


class Lines(Painted):
    """Lines in the order in which they matter; the first grow first, the last give way first."""

    lines: reactive[tuple[Line, ...]] = reactive((), repaint=False)

    def __init__(self, lines: tuple[Line, ...] = (), **named: Any) -> None:
        super().__init__(**named)
        self.set_reactive(Lines.lines, lines)

    def watch_lines(self) -> None:
        """Set the new lines."""
        self.repaint()

    def paint(self, columns: int, rows: int) -> list[str]:
        """Return the lines, set for so many columns and rows."""
        return set_lines(self.lines, columns, rows)
