"""Large words in the middle of their room, one under the other."""

from collections.abc import Iterator
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
        most = rows - rows // 12  # some air where there is plenty of room
        drawn = next((drawn for drawn in self._sizes(columns - 2, rows) if len(drawn) <= most), [])
        above = max(0, rows - len(drawn)) // 2
        return [""] * above + [row.center(columns) for row in drawn]

    def _sizes(self, columns: int, rows: int) -> Iterator[list[str]]:
        """Yield the words under each other, from large to small."""
        for share in range(min(self.most, rows), 0, -1):
            blocks = [lettering(text, columns, share, "center") for text in self.words]
            yield [row for block in blocks for row in ["", *block]][1:]
