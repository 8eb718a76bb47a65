"""A page of words with one tap under it: cautions, stop signs, questions, the summary."""

from collections.abc import Sequence

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from holdtimer.report.pages import TAP, Words
from holdtimer.screens.arrangement import headline_rows, tap_rows
from holdtimer.screens.keyed import KeyedScreen
from holdtimer.screens.page_text import page_text
from holdtimer.screens.widgets.big_words import BigWords
from holdtimer.screens.widgets.tap_bar import TapBar
from holdtimer.session.page_taps import PageTaps
from holdtimer.sound.player import steady

NOT_TAPS = frozenset({"escape", "backspace", "question_mark"})
SCROLLING = {"up": -3, "down": 3}  # rows


class Page(KeyedScreen):
    """A page; a tap closes it with "tap", another of its keys with that key's name."""

    DEFAULT_CSS = """
    Page { padding: 0 1; }
    Page #body { height: 1fr; margin: 1 0 0 0; scrollbar-size-vertical: 1; scrollbar-gutter: stable; }
    Page #body { scrollbar-color: $ink; scrollbar-background: $field; }
    Page #more { height: 1; text-style: bold; text-align: right; }
    Page #keys { height: auto; margin: 0 0 1 0; }
    """

    def __init__(self, words: Words) -> None:
        super().__init__()
        self._words = words
        self._taps = PageTaps(steady())
        self._headline, self._tap = BigWords(words.headline, id="headline"), TapBar(words.tap, id="tap")
        self._text, self._more = Static(markup=False), Static(id="more", markup=False)
        self._body = VerticalScroll(self._text, id="body", can_focus=False)

    def compose(self) -> ComposeResult:
        """Lay the page out."""
        yield from (self._headline, self._body, self._more)
        if self._words.keys:
            yield Static(_keys_text(self._words.keys), id="keys")
        yield self._tap

    def on_mount(self) -> None:
        """Take no tap at first: what was pressed before this page was not meant for it."""
        self._taps = PageTaps(steady())
        self.watch(self._body, "scroll_y", self._tell_more, init=False)

    def on_resize(self, event: events.Resize) -> None:
        """Give the words as much room as the terminal has."""
        rows = event.size.height
        self._tap.styles.height = tap_rows(rows)
        self._headline.max_rows = headline_rows(rows)
        self.call_after_refresh(self._set_text)

    def _set_text(self) -> None:
        """Set the words for the room that is left to them."""
        columns, rows = self._body.scrollable_content_region.size
        drawn = page_text(self._words.lines, columns, rows, is_urgent=self._words.is_urgent)
        self._text.update("\n".join(drawn))
        self.call_after_refresh(self._tell_more)

    def _tell_more(self) -> None:
        """Say that there is more to read, and how to get there."""
        last = self._body.max_scroll_y
        below = "arrow down: more ▼" if self._body.scroll_y < last else "arrow up: back to the top ▲"
        self._more.update(below if last > 0 else "")

    def press(self, name: str, at: float) -> None:
        """Close the page on a tap or one of its keys; scroll on the arrows."""
        if name in SCROLLING:
            self._body.scroll_relative(y=SCROLLING[name], animate=False)
        elif name not in NOT_TAPS and self._taps.counts(name, at):
            self.end(name if name in dict(self._words.keys) else TAP)


def _keys_text(keys: Sequence[tuple[str, str]]) -> Text:
    """Return the keys, each in reverse before what it does."""
    lines = [Text.assemble((f" {key.upper()} ", "reverse"), f"  {does}", style="bold") for key, does in keys]
    return Text("\n").join(lines)
