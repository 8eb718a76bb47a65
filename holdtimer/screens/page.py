"""Pages and lists around a session, each with one tap under it."""

from collections.abc import Sequence
from dataclasses import replace

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widget import Widget
from textual.widgets import Static

from holdtimer.report.pages import TAP, PageText
from holdtimer.report.table import GAP, INDENT, UNICODE, Row, Table, text_lines
from holdtimer.screens.app import KeyedScreen
from holdtimer.screens.fit import MOST_PAGES, large_text, marked_list, pages, plain_text
from holdtimer.screens.layout import SIDES, headline_rows, tap_rows
from holdtimer.screens.painted import Painted, headline, tap_bar
from holdtimer.session.debounce import PageTaps
from holdtimer.sound.player import steady
from holdtimer.text import sanitize

ARROWS = {"up": -1, "down": 1}
TURNS = {"pageup": -1, "pagedown": 1}  # what a clicker sends
AIR_FROM_ROWS = 20  # in lower terminals the headline stands at the upper edge
MOST_OF_A_QUESTION = 2  # pages: its keys count on the last, so larger letters are worth one more only


class Page(KeyedScreen):
    """A page, on as many screens as its words need; a tap closes it with "tap", a key of it with its name.

    Its own keys count on its last screen only. Where it has none it is there to be read: until its last
    screen a tap turns to the next one, so that nothing is accepted that was never shown. `above` and `below`
    are widgets that stand over and under the text.
    """

    DEFAULT_CSS = """
    Page { padding: 0 1; }
    Page #body { height: 1fr; margin: 1 0 0 0; scrollbar-size-vertical: 1; scrollbar-gutter: stable; }
    Page #body { scrollbar-color: $ink; scrollbar-background: $field; }
    Page #hint { height: 1; text-style: bold; text-align: right; }
    Page #keys { height: auto; margin: 0 0 1 0; }
    """

    def __init__(self, words: PageText, above: Sequence[Widget] = (), below: Sequence[Widget] = ()) -> None:
        super().__init__()
        self._words, self._lines = words, words.lines
        self._taps = PageTaps(steady())
        self._headline = Painted(headline, sanitize(words.headline), id="headline")
        self._tap = Painted(tap_bar, sanitize(words.tap), id="tap")
        self._keys = Static(_keys_text(words.keys), id="keys")
        self._pages: list[list[str]] = [[]]
        self._at = 0  # the page of these that is on screen
        self._text, self._hint = Static(id="text", markup=False), Static(id="hint", markup=False)
        self._body = VerticalScroll(self._text, id="body", can_focus=False)
        self._hint.display = not words.urgent  # the first lines need its row
        self._above, self._below = above, below

    def compose(self) -> ComposeResult:
        """Lay the page out."""
        yield from (self._headline, *self._above, self._body, self._hint)
        if self._words.keys:
            yield self._keys
        yield from (*self._below, self._tap)

    def on_mount(self) -> None:
        """Take no tap at first: what was pressed before this page was not meant for it."""
        self._taps = PageTaps(steady(), getattr(self.app, "settings", None))

    def on_resize(self, event: events.Resize) -> None:
        """Give the words as much room as the terminal has."""
        self._lay_out(*event.size)

    def _lay_out(self, columns: int, rows: int) -> None:
        drawn = headline(columns - SIDES, headline_rows(rows), sanitize(self._words.headline))
        air = int(rows >= AIR_FROM_ROWS)
        self._headline.styles.height = len(drawn) + air
        self._headline.styles.padding = (air, 0, 0, 0)
        self._tap.styles.height = tap_rows(rows)
        self.show()

    def rename(self, headline: str, tap: str) -> None:
        """Show another headline, and another word for what a tap does."""
        is_new = headline != self._words.headline
        self._words = replace(self._words, headline=headline, tap=tap)
        if is_new and self.is_mounted:
            self._headline.show(sanitize(headline))
            self._lay_out(*self.size)

    def show(self) -> None:
        """Show the lines as they are now, once the room that is left to them is known."""
        if not self.is_over:
            self._show_hint()
            self.call_after_refresh(self._show_text)

    def draw(self, columns: int, rows: int) -> tuple[Text, int | None]:
        """Return the text, and the row that must be in sight where there is one."""
        words = self._words
        most = MOST_OF_A_QUESTION if words.keys else MOST_PAGES
        lines = [sanitize(line) for line in self._lines]
        if words.table is not None:
            self._pages = _with_table(lines, words.table, columns, rows)
        else:
            self._pages = pages(lines, columns, rows, most if words.is_even else 0, words.urgent)
        self._turn(0)
        return Text("\n".join(self._pages[self._at])), None

    @property
    def _is_last(self) -> bool:
        return self._at == len(self._pages) - 1

    def _turn(self, by: int) -> bool:
        """Turn by so many pages, as far as there are any; return whether it is another one now."""
        before, self._at = self._at, min(max(self._at + by, 0), len(self._pages) - 1)
        self._keys.visible = self._is_last
        self._tap.show(sanitize(self._words.tap) if self._is_last or self._words.keys else "next page")
        return self._at != before

    def hint(self) -> str:
        """Return in ordinary letters what keys do: here, where there is more to read."""
        if len(self._pages) == 1:
            return ""
        turns = "arrow up: back ▲" if self._is_last else "arrow down: next page ▼"
        return f"page {self._at + 1} of {len(self._pages)} · {turns}"

    def _show_text(self) -> None:
        columns, rows = self._body.scrollable_content_region.size
        if columns and rows:
            text, in_sight = self.draw(columns, rows)
            self._text.update(text)
            if in_sight is not None:
                self._body.scroll_to(y=max(0, in_sight - rows // 3), animate=False)
            self.call_after_refresh(self._show_hint)

    def _show_hint(self) -> None:
        self._hint.update("\n".join(map(sanitize, self.hint().split("\n"))))

    def press(self, name: str, at: float) -> None:
        """Close the page on a tap or one of its keys, or turn to what there is more to read."""
        key = self._words.key(name)
        if name in ARROWS or (name in TURNS and self._words.keys and not self._is_last):
            self._show_turned(ARROWS.get(name) or TURNS[name], at)
        elif not self._taps.is_tap(name, at) or (key and not self._is_last):
            return
        elif not (self._is_last or self._words.keys):
            self._show_turned(1, at)
        else:
            self.end(key or TAP)

    def _show_turned(self, by: int, at: float) -> None:
        if self._turn(by):
            self._taps.turn(max(at, steady()))
            self.show()


def _with_table(lines: Sequence[str], table: Table, columns: int, rows: int) -> list[list[str]]:
    """Return lines over a table, page by page; names in large letters or set apart where all has room so."""
    above = [row for line in lines for row in plain_text(line, columns)]
    plain = text_lines([table], columns, UNICODE)
    airy = [row for each in plain for row in ([each] if each.startswith(INDENT) else ["", each])]
    fitting = (
        each for each in (_large_names(table, columns), airy) if each and len(above) + len(each) < rows
    )
    whole = [*above, "", *next(fitting, plain)]
    return [whole[at : at + rows] for at in range(0, len(whole), rows)]


def _large_names(table: Table, columns: int) -> list[str] | None:
    """Return a table with its names in large letters and what belongs to each beside it; None for no room."""
    others = Table(table.columns[1:], tuple(Row(row.cells[1:]) for row in table.rows))
    titles, *beside = text_lines([others], columns, None)
    room = columns - max(map(len, (titles, *beside))) - GAP
    found = [" " * (room + GAP) + titles]
    for row, words in zip(table.rows, beside, strict=True):
        name = large_text(str(row.cells[0]), room)
        if name is None:
            return None
        found += [
            f"{part:{room + GAP}}{words if at == len(name) // 2 else ''}" for at, part in enumerate(name)
        ]
        found += [note for words in row.notes for note in plain_text(sanitize(words.text), columns)]
        found.append("")
    return found[:-1]


def _keys_text(keys: Sequence[tuple[str, str]]) -> Text:
    """Return the keys, each in reverse before what it does."""
    shown = [(key.upper(), sanitize(does)) for key, does in keys]
    lines = [Text.assemble((f" {key} ", "reverse"), f"  {does}", style="bold") for key, does in shown]
    return Text("\n").join(lines)


class ListPage(Page):
    """A page that lists lines, one of them perhaps marked; the arrows move the mark."""

    DEFAULT_CSS = """
    ListPage #text { text-style: bold; }
    ListPage #hint { height: auto; text-style: none; text-align: left; color: $quiet; }
    """

    _marked: int | None = None

    def draw(self, columns: int, rows: int) -> tuple[Text, int | None]:
        """Return the lines, and the first row of the marked one."""
        lines = [sanitize(line) for line in self._lines]
        drawn, first = marked_list(lines, self._marked, columns, rows)
        return Text("\n").join(drawn), first

    def move(self, by: int) -> None:
        """Move the mark by so many lines, round the ends; to the first or last where none was marked."""
        begun = -1 if by > 0 else 0
        at = (begun if self._marked is None else self._marked) + by
        self._marked = at % max(1, len(self._lines))  # a key may come before there are any


class ChoicePage(ListPage):
    """Closes with the index of what was chosen, None on Escape; `about` describes each choice."""

    def __init__(
        self, headline: str, choices: Sequence[str], marked: int = 0, about: Sequence[str] = ()
    ) -> None:
        super().__init__(PageText(headline, tuple(choices), "choose"))
        self._marked, self._about = marked, about

    def hint(self) -> str:
        """Return what the marked one is, and what keys do."""
        about = self._about[self._marked or 0] if self._about else ""
        return f"{about}\nArrows move the mark. Esc goes back.".lstrip()

    def press(self, name: str, at: float) -> None:
        """Move the mark, take what is marked, or go back."""
        if name in ARROWS:
            self.move(ARROWS[name])
            self.show()
        elif name == "escape":
            if self._taps.counts(name, at):
                self.end()
        elif self._taps.is_tap(name, at):
            self.end(self._marked)
