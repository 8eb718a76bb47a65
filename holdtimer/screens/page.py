"""A page of words with one tap under it: cautions, stop signs, questions, the summary."""

from textual import events
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from holdtimer.report.pages import TAP, Words
from holdtimer.screens.keyed import KeyedScreen
from holdtimer.screens.widgets.big_words import BigWords
from holdtimer.screens.widgets.tap_bar import TapBar
from holdtimer.session.taps import NEW_SCREEN_S
from holdtimer.sound.player import steady

NOT_TAPS = frozenset({"escape", "backspace", "question_mark"})
SCROLLING = {"up": -1, "down": 1}


class Page(KeyedScreen):
    """A page; a tap closes it with "tap", another of its keys with that key's name."""

    DEFAULT_CSS = """
    Page { padding: 0 1; }
    Page #headline { margin: 0 0 1 0; }
    Page #body { height: 1fr; scrollbar-size-vertical: 1; }
    Page #keys { height: auto; text-style: bold; }
    """

    def __init__(self, words: Words) -> None:
        super().__init__()
        self._words = words
        self._since = 0.0

    def compose(self) -> ComposeResult:
        """Lay the page out."""
        yield BigWords(self._words.headline, id="headline")
        with VerticalScroll(id="body", can_focus=False):
            yield Static("\n".join(self._words.lines), markup=False)
        if self._words.keys:
            yield Static(
                "\n".join(f"{key}: {does}" for key, does in self._words.keys), id="keys", markup=False
            )
        yield TapBar(self._words.tap, id="tap")

    def on_mount(self) -> None:
        """Take no tap at first: what was pressed before this page was not meant for it."""
        self._since = steady()

    def on_resize(self, event: events.Resize) -> None:
        """Give the words as much room as the terminal has."""
        rows = event.size.height
        self.query_one("#tap", TapBar).styles.height = 4 if rows < 30 else 6 if rows < 50 else 8
        self.query_one("#headline", BigWords).max_rows = 3 if rows < 30 else 5 if rows < 50 else 7

    def press(self, name: str, at: float) -> None:
        """Close the page on a tap or one of its keys; scroll on the arrows."""
        if at - self._since < NEW_SCREEN_S:
            return
        if name in SCROLLING:
            self.query_one("#body").scroll_relative(y=SCROLLING[name], animate=False)
        elif name in dict(self._words.keys):
            self.dismiss(name)
        elif name not in NOT_TAPS:
            self.dismiss(TAP)
