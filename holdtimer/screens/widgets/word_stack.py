"""Large words in the middle of their room, one under the other."""

from typing import Any

from textual.reactive import reactive

from holdtimer.screens.lettering import lettering
from holdtimer.screens.widgets.painted import Painted


class WordStack(Painted):
    """Short texts in capitals, each as large as its share of the room allows."""

    words: reactive[tuple[str, ...]] = reactive((), repaint=False)
    most: reactive[int] = reactive(9, repaint=False)

    def __init__(self, words: tuple[str, ...] = (), *, most: int = 9, **named: Any) -> None:
        super().__init__(**named)
        self.set_reactive(WordStack.most, most)
        self.set_reactive(WordStack.words, words)

    def watch_most(self) -> None:
        """Draw in another size."""
        self.repaint()

    def watch_words(self) -> None:
        """Draw the new words."""
        self.repaint()

    def paint(self, columns: int, rows: int) -> list[str]:
        """Return the words, an empty row between two."""
        if not self.words or rows < 1:
            return []
        share = max(1, min(self.most, (rows + 1) // len(self.words) - 1))
        blocks = [lettering(text, columns - 2, share, "center") for text in self.words]
        drawn = [row for block in blocks for row in ["", *block]][1:]
        above = max(0, rows - len(drawn)) // 2
        return [""] * above + [row.center(columns) for row in drawn]
