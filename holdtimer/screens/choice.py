"""A page that asks for one of several: arrows move the mark, a tap or Enter takes what is marked."""

from collections.abc import Sequence

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from holdtimer.screens.keyed import KeyedScreen
from holdtimer.screens.widgets.big_words import BigWords
from holdtimer.screens.widgets.tap_bar import TapBar
from holdtimer.session.page_taps import PageTaps
from holdtimer.sound.player import steady

_MOVES = {"up": -1, "down": 1}
_NOT_TAPS = frozenset({"escape", "backspace", "question_mark"})


class ChoicePage(KeyedScreen):
    """Closes with the index of what was chosen, None on Escape."""

    DEFAULT_CSS = """
    ChoicePage { padding: 0 1; }
    ChoicePage #headline { margin: 0 0 1 0; }
    ChoicePage #body { height: 1fr; scrollbar-size-vertical: 1; }
    ChoicePage #lines { text-style: bold; }
    """

    def __init__(self, headline: str, choices: Sequence[str], marked: int = 0) -> None:
        super().__init__()
        self._headline = headline
        self._choices = choices
        self._marked = marked
        self._taps = PageTaps(steady())

    def compose(self) -> ComposeResult:
        """Lay the page out."""
        yield BigWords(self._headline, id="headline")
        with VerticalScroll(id="body", can_focus=False):
            yield Static(id="lines")
        yield Static("arrows move, Esc goes back", classes="quiet")
        yield TapBar("choose", id="tap")

    def on_mount(self) -> None:
        """Show the choices; take no tap that was not meant for this page."""
        self._taps = PageTaps(steady())
        self._show()

    def on_resize(self, event: events.Resize) -> None:
        """Give the words as much room as the terminal has."""
        rows = event.size.height
        self.query_one("#tap", TapBar).styles.height = 4 if rows < 30 else 6 if rows < 50 else 8
        self.query_one("#headline", BigWords).max_rows = 3 if rows < 30 else 5 if rows < 50 else 7

    def press(self, name: str, at: float) -> None:
        """Move the mark, take what is marked, or go back."""
        if name in _MOVES:
            self._marked = (self._marked + _MOVES[name]) % len(self._choices)
            self._show()
        elif (name not in _NOT_TAPS or name == "escape") and self._taps.counts(name, at):
            self.dismiss(None if name == "escape" else self._marked)

    def _show(self) -> None:
        text = Text()
        for index, choice in enumerate(self._choices):
            is_marked = index == self._marked
            text.append(f" {'▶' if is_marked else ' '} {choice} ", "reverse" if is_marked else "")
            text.append("\n")
        text.rstrip()
        self.query_one("#lines", Static).update(text)
        self.query_one("#body", VerticalScroll).scroll_to(y=max(0, self._marked - 3), animate=False)
