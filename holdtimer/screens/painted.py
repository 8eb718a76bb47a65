"""The widgets: one that draws by functions of columns, rows and plain data; the menu and the help."""

from collections.abc import Callable, Sequence
from typing import Any

from rich.segment import Segment
from rich.text import Text
from textual.geometry import Region, Size
from textual.reactive import reactive
from textual.strip import Strip
from textual.widget import Widget
from textual.widgets import Static

from holdtimer.screens.bitmap import BLOCKS, WHOLE_CELLS, box, read_blocks
from holdtimer.screens.fit import (
    LARGE_ROWS,
    LEAST_ROWS,
    MARK,
    Block,
    DigitStyle,
    digits,
    in_the_middle,
    large_notice,
    lettering,
    list_item,
    marked_item,
    plain_text,
    stack,
    word,
)
from holdtimer.session.menu import Menu
from holdtimer.session.words import CHOICE_WORDS


class Painted(Widget):
    """Shows the rows `paint(columns, rows, *content)` returns, in its own ink on its own field.

    Rows may be fewer and shorter than asked for. `is_moving` is for what changes all the time: of that only
    the part that differs is drawn again.
    """

    DEFAULT_CSS = """
    Painted { width: 1fr; height: 1fr; }
    Painted.notice { height: 1; text-style: bold reverse; }
    """

    def __init__(
        self, paint: Callable[..., Block], *content: Any, is_moving: bool = False, **named: Any
    ) -> None:
        super().__init__(**named)
        self._paint, self._content, self._is_moving = paint, content, is_moving
        self._rows: list[str] = []
        self._painted_size: Size | None = None

    def show(self, *content: Any) -> None:
        """Draw other content."""
        if content == self._content:
            return
        self._content = content
        if self._is_moving and self._painted_size == self.content_size:
            before = self._rows
            self._draw()
            if self._rows != before:
                self.refresh(_differing(before, self._rows).translate(self.gutter.top_left))
        else:
            self._painted_size = None
            self.refresh()

    def render_line(self, y: int) -> Strip:
        """Return one row of the widget's content."""
        if self._painted_size != self.content_size:
            self._draw()
        return Strip([Segment(self._rows[y], self.rich_style)], self.content_size.width)

    def _draw(self) -> None:
        self._painted_size = self.content_size
        columns, rows = self.content_size
        drawn = self._paint(columns, rows, *self._content)[:rows]
        self._rows = [row.ljust(columns) for row in [*drawn, *[""] * (rows - len(drawn))]]


def _differing(before: Sequence[str], now: Sequence[str]) -> Region:
    """Return the smallest region outside of which rows of one length are alike."""
    rows = [(y, was, row) for y, (was, row) in enumerate(zip(before, now, strict=True)) if was != row]
    left = min(_same_cells(was, row) for _, was, row in rows)
    right = min(_same_cells(was[::-1], row[::-1]) for _, was, row in rows)
    top, bottom = rows[0][0], rows[-1][0]
    return Region(left, top, len(now[0]) - left - right, bottom - top + 1)


def _same_cells(one: str, other: str) -> int:
    """Return how many cells two different rows have in common from the left."""
    return next(at for at, (a, b) in enumerate(zip(one, other, strict=True)) if a != b)


def headline(columns: int, rows: int, text: str) -> Block:
    """Return a text in capitals as large as fits."""
    return lettering(text, columns, rows) if text else []


def clock_face(
    columns: int, rows: int, text: str, style: DigitStyle = "solid", widest: str = ""
) -> list[str]:
    """Return a number of seconds or m:ss in the middle, in the size that the `widest` text to come has."""
    drawn = digits(text, columns, rows, style, widest)
    return in_the_middle([row.center(columns) for row in drawn], rows)


def word_stack(columns: int, rows: int, words: Sequence[str], most: int) -> list[str]:
    """Return short texts under each other, each as large as its share of the rows and `most` allow."""
    room = rows - rows // 12  # some air where there is plenty of room
    for share in range(min(most, rows), 0, -1):
        drawn = stack([lettering(text, columns - 2, share) for text in words], gap=1)
        if len(drawn) <= room:
            return in_the_middle([row.center(columns) for row in drawn], rows)
    return []


def notice(columns: int, rows: int, text: str, mark: str = "!") -> Block:
    """Return a notice in large letters from four rows on, in one row with a mark before it."""
    plain = [""] * ((rows - 1) // 2) + plain_text(f" {mark}  {text}", columns, 1)
    return large_notice(text, columns, rows) or plain


# -- the tap bar: a filled key and the words for what it does; a hollow key with a dash when no tap counts ---

_HOLLOW = ("▛▀▀▀▀▀▜", "▌     ▐", "▌  –  ▐", "▙▄▄▄▄▄▟")


def tap_bar(columns: int, rows: int, words: str, is_live: bool = True, no: str = "") -> list[str]:
    """Draw the key and the words beside it in exactly `rows` rows; with a `no`, Backspace and that below it.

    Three rows are enough for large words; a key with large letters takes four or more, and gives those up
    first, so that the words keep theirs.
    """
    if no:
        return _two_answers(columns, rows, words, no)
    space, most = max(3, rows // 2 + 1), _most_rows(rows)
    for key in (_large_key(rows, is_live), _plain_key(rows, is_live)):
        if key is None or len(key[0]) + space > columns // 2:
            continue
        drawn = lettering(words, columns - len(key[0]) - space, most)
        if len(drawn) >= LEAST_ROWS:
            return _beside(key, drawn, space)
    key = _plain_key(rows, is_live)
    return _beside(key, plain_text(words, columns - len(key[0]) - space, most), space)


def _most_rows(rows: int) -> int:
    """Return the most rows of the words beside a key of so many rows."""
    return rows - (rows > 3) - (rows > 6)


def _two_answers(columns: int, rows: int, yes: str, no: str) -> list[str]:
    """Draw a yes and a no under each other, keys and letters of one size: neither is the easier."""
    each, space = max(1, rows // 2), 3
    most = _most_rows(each)
    keys = [_plain_key(each, label=label.center(len("BACKSPACE"))) for label in ("TAP", "BACKSPACE")]
    room = columns - len(keys[0][0]) - space
    sizes = range(most, LEAST_ROWS - 1, -1)
    drawn = next((two for size in sizes if (two := _alike(yes, no, room, size))), None)
    drawn = drawn or [plain_text(words, room, most) for words in (yes, no)]
    bars = [_beside(key, words, space) for key, words in zip(keys, drawn, strict=True)]
    return [*bars[0], *[""] * (rows - 2 * each), *bars[1]]


def _alike(yes: str, no: str, columns: int, rows: int) -> list[Block] | None:
    """Return both in large letters of so many rows; None where one of them does not fit."""
    drawn = [lettering(words, columns, rows) for words in (yes, no)]
    is_one_line = all(row.strip() for block in drawn for row in block)
    return drawn if is_one_line and [len(block) for block in drawn] == [rows, rows] else None


def _beside(key: Block, words: Block, space: int) -> list[str]:
    """Set the words at half height beside the key; large ones to the half row where there are such."""
    spare = len(key) - len(words)
    if WHOLE_CELLS or not set("".join(words)) <= set(BLOCKS):
        lines = [""] * ((spare + 1) // 2) + [*words] + [""] * (spare // 2)
    else:
        lines = read_blocks(words).raised(spare, spare).blocks()
    return [f"{one}{'':{space}}{other}" for one, other in zip(key, lines, strict=True)]


def _filled(label: str) -> tuple[str, str, str, str]:
    inner = "█" * (len(label) + 2)
    return f"▟{inner}▙", f"█{inner}█", f"█ {label} █", f"▜{inner}▛"


def _large_key(rows: int, is_live: bool) -> list[str] | None:
    """Draw a key whose letters are cut out of it; None where they would be too small."""
    height = 2 * rows
    margin = max(1, height // 5)
    letters = word("TAP", rows - margin)
    if letters is None:
        return None
    width = (letters.width + 4 * margin + 3) // 2 * 2
    cap = box(0, 0, width, height, height, radius=margin + 0.5)
    if not is_live:
        cap = cap.outline(max(1, height // 14))
        half = width / 4
        dash = box(half, rows - 1, width - half, rows + max(1, margin // 2), height)
        return (cap | dash).within(width).blocks()
    above = (height - letters.height) // 2
    inside = letters.raised(above, height - letters.height - above).shifted((width - letters.width) // 2)
    return (cap - inside).blocks()


def _plain_key(rows: int, is_live: bool = True, label: str = "TAP") -> list[str]:
    """Draw a key with plain letters, or a rim with a dash."""
    top, empty, label, bottom = _filled(label) if is_live else _HOLLOW
    if rows < 3:
        return [label] + [" " * len(label)] * (rows - 1)
    inner = [label if row == rows // 2 else empty for row in range(1, rows - 1)]
    return [top, *inner, bottom]


# -- what is laid over a running session: the menu and the help ----------------------------------------------

_BORDER = 2
_QUESTION_ROWS = 7  # of the marked line where something may be wrong: two lines of large letters
_CHOSEN = "arrows and Enter choose; any other key closes this and is a tap"
_SCANNED = "the mark moves by itself; a tap chooses what is marked"
_ASKED_AGAIN = "the mark moves by itself; without a tap the session stops"


class MenuPanel(Widget):
    """The lines of the open menu, the marked one large behind an arrow; it takes no room while closed."""

    DEFAULT_CSS = """
    MenuPanel { width: 1fr; height: auto; display: none; border: heavy $ink; padding: 0 1; text-style: bold; }
    """

    menu: reactive[Menu | None] = reactive(None, layout=True)

    def watch_menu(self, menu: Menu | None) -> None:
        """Show the lines, or nothing."""
        self.display = menu is not None
        if menu is not None:
            self.border_title, self.border_subtitle = _title(menu), _hint(menu)

    def render(self) -> Text:
        """Return the lines, the marked one over several rows."""
        rows: list[Text] = []
        columns = self.content_size.width
        for choice in self.menu.lines if self.menu else ():
            words = CHOICE_WORDS[choice]
            if self.menu and choice is self.menu.marked:
                rows += marked_item(words, columns, _marked_rows(self.menu))
            else:
                rows += list_item(plain_text(words, columns - MARK, 1))
        return Text("\n").join(rows)


def _title(menu: Menu) -> str:
    """Return what the menu asks."""
    if menu.asks_again:
        return "Does something feel wrong?"
    return "Why a harder rung?" if menu.asks_reason_for else "Menu"


def _hint(menu: Menu) -> str:
    """Return how it is answered."""
    if menu.asks_again:
        return _ASKED_AGAIN
    return _CHOSEN if menu.scanned_since is None else _SCANNED


def menu_rows(menu: Menu) -> int:
    """Return the rows an open menu takes."""
    return len(menu.lines) - 1 + _marked_rows(menu) + _BORDER


def _marked_rows(menu: Menu) -> int:
    return _QUESTION_ROWS if menu.asks_again else LARGE_ROWS


_HELP = """\
Any key or touch is a tap. The bottom line says what it does now.

Esc         menu: something feels wrong, stop, skip, end
Backspace   twice: take the last stamp back; at a question: no
+  -        another rung (before a set)
o           mark today as an off day (before a set)
?           this help
Ctrl+Q      leave; you can resume the session"""
HELP_ROWS = _HELP.count("\n") + 1 + _BORDER


class HelpPanel(Static):
    """The keys in words; it takes no room while closed."""

    DEFAULT_CSS = """
    HelpPanel { width: 1fr; height: auto; border: heavy $ink; padding: 0 1; }
    """

    def __init__(self) -> None:
        super().__init__(_HELP, id="help", markup=False)
        self.border_title = "Help"
        self.border_subtitle = "? closes this; any other key closes it and is a tap"
