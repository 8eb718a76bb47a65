"""A page that lists lines, one of them marked, with one tap under it."""

from collections.abc import Sequence

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widget import Widget
from textual.widgets import Static

from holdtimer.screens.arrangement import headline_rows, tap_rows
from holdtimer.screens.keyed import KeyedScreen
from holdtimer.screens.marking import marked_list
from holdtimer.screens.widgets.big_words import BigWords
from holdtimer.screens.widgets.tap_bar import TapBar
from holdtimer.session.page_taps import PageTaps
from holdtimer.sound.player import steady

MOVES = {"up": -1, "down": 1}


class ListScreen(KeyedScreen):
    """What lists have in common; each says what its lines are, which one is marked, and what keys do."""

    DEFAULT_CSS = """
    ListScreen { padding: 0 1; }
    ListScreen #body { height: 1fr; margin: 1 0 0 0; scrollbar-size-vertical: 1; }
    ListScreen #body { scrollbar-color: $ink; scrollbar-background: $field; }
    ListScreen #lines { text-style: bold; }
    ListScreen #hint { height: auto; }
    """

    def __init__(self, headline: str, tap: str, marked: int | None) -> None:
        super().__init__()
        self._marked = marked
        self._taps = PageTaps(steady())
        self._headline, self._tap = BigWords(headline, id="headline"), TapBar(tap, id="tap")
        self._drawn, self._hint = Static(id="lines"), Static(id="hint", classes="quiet", markup=False)
        self._body = VerticalScroll(self._drawn, id="body", can_focus=False)

    def above(self) -> Sequence[Widget]:
        """Return what stands between the headline and the lines."""
        return ()

    def below(self) -> Sequence[Widget]:
        """Return what stands under the lines."""
        return ()

    def lines(self) -> Sequence[str]:
        """Return the lines as they are now."""
        raise NotImplementedError

    def hint(self) -> str:
        """Return in ordinary letters what else there is to say."""
        raise NotImplementedError

    def compose(self) -> ComposeResult:
        """Lay the page out."""
        yield self._headline
        yield from self.above()
        yield self._body
        yield from self.below()
        yield from (self._hint, self._tap)

    def on_mount(self) -> None:
        """Take no tap that was not meant for this page."""
        self._taps = PageTaps(steady())

    def on_resize(self, event: events.Resize) -> None:
        """Give the words as much room as the terminal has."""
        self._tap.styles.height = tap_rows(event.size.height)
        self._headline.max_rows = headline_rows(event.size.height)
        self.show()

    def show(self) -> None:
        """Show the lines as they are now, once the room that is left to them is known."""
        if self.is_over:
            return
        self._hint.update(self.hint())
        self.call_after_refresh(self._set_lines)

    def move(self, by: int) -> None:
        """Move the mark by so many lines, round the ends; to the first or last where none was marked."""
        begun = -1 if by > 0 else 0
        self._marked = ((begun if self._marked is None else self._marked) + by) % len(self.lines())

    def _set_lines(self) -> None:
        columns, rows = self._body.scrollable_content_region.size
        if columns and rows:
            drawn, first = marked_list(self.lines(), self._marked, columns, rows)
            self._drawn.update(Text("\n").join(drawn))
            self._body.scroll_to(y=max(0, first - rows // 3), animate=False)
