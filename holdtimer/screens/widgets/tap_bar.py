"""The bar that says in large letters what a tap will do now."""

from typing import Any

from textual.reactive import reactive

from holdtimer.screens.keycap import tap_rows
from holdtimer.screens.widgets.painted import Painted


class TapBar(Painted):
    """A filled key and the words for what it does; a hollow key with a dash when no tap counts.

    Three rows are enough for large words; a key with large letters takes four or more.
    """

    DEFAULT_CSS = """
    TapBar { width: 1fr; height: 5; }
    """

    words: reactive[str] = reactive("", repaint=False)
    live: reactive[bool] = reactive(True, repaint=False)

    def __init__(self, words: str = "", *, live: bool = True, **named: Any) -> None:
        super().__init__(**named)
        self.set_reactive(TapBar.words, words)
        self.set_reactive(TapBar.live, live)

    def watch_words(self) -> None:
        """Show what a tap does now."""
        self.repaint()

    def watch_live(self) -> None:
        """Show whether a tap counts now."""
        self.repaint()

    def paint(self, columns: int, rows: int) -> list[str]:
        """Return the key and the words."""
        return tap_rows(self.words, columns, rows, self.live)
