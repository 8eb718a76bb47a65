"""Large words: a line or two to be read from across the room."""

from typing import Any

from textual.geometry import Size
from textual.reactive import reactive

from holdtimer.screens.lettering import Align, lettering
from holdtimer.screens.widgets.painted import Painted


class BigWords(Painted):
    """A text in capitals, as large as its width and `max_rows` allow."""

    text: reactive[str] = reactive("", layout=True)
    max_rows: reactive[int] = reactive(3, layout=True)

    def __init__(self, text: str = "", *, max_rows: int = 3, align: Align = "left", **named: Any) -> None:
        super().__init__(**named)
        self._align: Align = align
        self.set_reactive(BigWords.text, text)
        self.set_reactive(BigWords.max_rows, max_rows)

    def watch_text(self) -> None:
        """Draw the new words."""
        self.repaint()

    def watch_max_rows(self) -> None:
        """Draw in another size."""
        self.repaint()

    def paint(self, columns: int, rows: int) -> list[str]:
        """Return the words, aligned, in at most so many rows."""
        drawn = lettering(self.text, columns, min(rows, self.max_rows), self._align)
        return [row.center(columns) for row in drawn] if self._align == "center" else drawn

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002
        """Return how many rows the words take at that width."""
        return len(lettering(self.text, width, self.max_rows, self._align)) if self.text else 0
