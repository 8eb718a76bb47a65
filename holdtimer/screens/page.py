"""Pages of words and lists around a session, each with one tap under it."""

from collections.abc import Sequence
from typing import Any

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Static

from holdtimer.report.pages import TAP, PageText
from holdtimer.screens.fit import marked_list, page_text
from holdtimer.screens.layout import headline_rows, tap_rows
from holdtimer.screens.painted import BigWords, TapBar
from holdtimer.session.debounce import PageTaps
from holdtimer.sound.player import steady


class KeyedScreen(Screen[Any]):
    """A screen that takes keys by name and time; all of them, so that nothing can shadow a tap."""

    types_text = False  # while a text is typed, keys belong to it
    is_over = False

    def end(self, result: object = None) -> None:
        """Give way to what comes next, once: a key or a tick still in line must not take that away too."""
        if not self.is_over:
            self.is_over = True
            self.dismiss(result)

    def press(self, name: str, at: float) -> None:
        """Take a key that reached the program at `at` (real seconds of the steady clock)."""

    def keyboard(self, has: bool, at: float) -> None:
        """Take note that the terminal gained or lost the keyboard."""


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

    def __init__(self, words: PageText) -> None:
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


_NOT_TAPS = frozenset({"backspace", "question_mark"})
_HINT = "Arrows move, Esc goes back."


class ChoicePage(ListScreen):
    """Closes with the index of what was chosen, None on Escape; `about` tells more of what is marked."""

    def __init__(
        self, headline: str, choices: Sequence[str], marked: int = 0, about: Sequence[str] = ()
    ) -> None:
        super().__init__(headline, "choose", marked)
        self._choices, self._about = choices, about

    def lines(self) -> Sequence[str]:
        """Return the choices."""
        return self._choices

    def hint(self) -> str:
        """Return what is told of the marked one, and what keys do."""
        told = self._about[self._marked] if self._about and self._marked is not None else ""
        return f"{told}\n{_HINT}" if told else _HINT

    def press(self, name: str, at: float) -> None:
        """Move the mark, take what is marked, or go back."""
        if name in MOVES:
            self.move(MOVES[name])
            self.show()
        elif name not in _NOT_TAPS and self._taps.counts(name, at):
            self.end(None if name == "escape" else self._marked)
