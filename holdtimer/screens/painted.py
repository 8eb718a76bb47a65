"""The drawing widgets: they show plain data and decide nothing."""

from collections.abc import Iterator
from typing import Any

from rich.segment import Segment
from textual.geometry import Region, Size
from textual.reactive import reactive
from textual.strip import Strip
from textual.widget import Widget

from holdtimer.screens.fit import Align, large_notice, lettering, plain_lines, set_lines, tap_rows
from holdtimer.screens.font import DigitStyle, digit_size, digits
from holdtimer.screens.ruler import RulerData, ruler
from holdtimer.screens.view import Line


class Painted(Widget):
    """A widget that shows the rows `paint` makes, in its own ink on its own field."""

    DEFAULT_CSS = """
    Painted { width: 1fr; height: auto; }
    """

    _painted: tuple[object, list[Strip]] | None = None

    def paint(self, columns: int, rows: int) -> list[str]:
        """Return the rows to show, at most so many; each is as wide as it likes up to `columns`."""
        raise NotImplementedError

    def repaint(self) -> None:
        """Forget the rows and show new ones."""
        self._painted = None
        self.refresh()

    def render_line(self, y: int) -> Strip:
        """Return one row of the widget's content."""
        key = (self.content_size, self.rich_style)
        if self._painted is None or self._painted[0] != key:
            width, height = self.content_size
            style = self.rich_style
            strips = [Strip([Segment(row.ljust(width), style)], width) for row in self.paint(width, height)]
            self._painted = (key, strips)
        strips = self._painted[1]
        return strips[y] if y < len(strips) else Strip.blank(self.content_size.width, self.rich_style)


class BigDigits(Painted):
    """A number of seconds or m:ss, solid in work and hollow out of work, in the middle of its room.

    Only the glyphs that changed are drawn again. Short texts are filled up with blanks at the left to `least`
    characters, so that the digits keep their place from 9 to 10; they keep their size where `widest` tells
    the widest text to come.
    """

    DEFAULT_CSS = """
    BigDigits { width: 1fr; height: 1fr; }
    """

    text: reactive[str] = reactive("", repaint=False)
    look: reactive[DigitStyle] = reactive("solid", repaint=False)
    widest: reactive[str] = reactive("", repaint=False)

    def __init__(self, text: str = "", look: DigitStyle = "solid", *, least: int = 2, **named: Any) -> None:
        super().__init__(**named)
        self._least = least
        self.set_reactive(BigDigits.text, text)
        self.set_reactive(BigDigits.look, look)

    def paint(self, columns: int, rows: int) -> list[str]:
        """Return the digits in the middle of so many columns and rows."""
        drawn = digits(self._shown(self.text), columns, rows, self.look, self.widest)
        above = max(0, rows - len(drawn)) // 2
        return [""] * above + [row.center(columns) for row in drawn]

    def watch_look(self) -> None:
        """Draw the other style."""
        self.repaint()

    def watch_widest(self) -> None:
        """Draw in the other size."""
        self.repaint()

    def watch_text(self, before: str, now: str) -> None:
        """Draw again what changed."""
        self._painted = None
        self.refresh(*self.changed(self._shown(before), self._shown(now)))

    def changed(self, before: str, now: str) -> list[Region]:
        """Return the regions of the glyphs that differ; none stands for the whole widget."""
        width, height = self.content_size
        size = digit_size(self.widest or _pattern(now), width, height)
        if size is None or _pattern(before) != _pattern(now):
            return []
        x = self.gutter.left + (width - size.width(now)) // 2
        regions = []
        for was, glyph in zip(before, now, strict=True):
            if was != glyph:
                regions.append(Region(x, self.gutter.top, size.columns(glyph), height))
            x += size.columns(glyph) + size.gap
        return regions

    def _shown(self, text: str) -> str:
        return text.rjust(self._least)


def _pattern(text: str) -> str:
    """Return which characters are digits: what decides the size and the places."""
    return "".join("0" if character.isdigit() or character == " " else character for character in text)


class BigWords(Painted):
    """A text in capitals, as large as its width and `max_rows` allow."""

    text: reactive[str] = reactive("", layout=True)
    max_rows: reactive[int] = reactive(3, layout=True)

    def __init__(self, text: str = "", *, max_rows: int = 3, align: Align = "left", **named: Any) -> None:
        super().__init__(**named)
        self._align: Align = align
        self.set_reactive(BigWords.text, text)
        self.set_reactive(BigWords.max_rows, max_rows)

    def watch_text(self) -> None:
        """Draw the new words."""
        self.repaint()

    def watch_max_rows(self) -> None:
        """Draw in another size."""
        self.repaint()

    def paint(self, columns: int, rows: int) -> list[str]:
        """Return the words, aligned, in at most so many rows."""
        drawn = lettering(self.text, columns, min(rows, self.max_rows), self._align)
        return [row.center(columns) for row in drawn] if self._align == "center" else drawn

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002
        """Return how many rows the words take at that width."""
        return len(lettering(self.text, width, self.max_rows, self._align)) if self.text else 0


class Lines(Painted):
    """Lines in the order in which they matter; the first grow first, the last give way first."""

    lines: reactive[tuple[Line, ...]] = reactive((), repaint=False)

    def __init__(self, lines: tuple[Line, ...] = (), **named: Any) -> None:
        super().__init__(**named)
        self.set_reactive(Lines.lines, lines)

    def watch_lines(self) -> None:
        """Set the new lines."""
        self.repaint()

    def paint(self, columns: int, rows: int) -> list[str]:
        """Return the lines, set for so many columns and rows."""
        return set_lines(self.lines, columns, rows)


class Notice(Painted):
    """Words in reverse, in large letters from four rows on, with a "!" before them in one row.

    It takes no row while there is nothing to say.
    """

    DEFAULT_CSS = """
    Notice { width: 1fr; height: 1; text-style: bold reverse; }
    Notice.-empty { display: none; }
    """

    text: reactive[str] = reactive("")

    def __init__(self, text: str = "", **named: Any) -> None:
        super().__init__(**named)
        self.set_reactive(Notice.text, text)
        self.set_class(not text, "-empty")

    def watch_text(self) -> None:
        """Show the new notice, or give the row back."""
        self.set_class(not self.text, "-empty")
        self.repaint()

    def paint(self, columns: int, rows: int) -> list[str]:
        """Return the notice; a plain one is shortened by "…" where it is too long."""
        plain = [""] * ((rows - 1) // 2) + plain_lines(f" !  {self.text}", columns, 1)
        return large_notice(self.text, columns, rows) or plain


class Ruler(Painted):
    """The work window over the full width; it is drawn again only when a row of it changes."""

    DEFAULT_CSS = """
    Ruler { width: 1fr; height: 5; }
    """

    data: reactive[RulerData | None] = reactive(None, repaint=False)

    def __init__(self, data: RulerData | None = None, **named: Any) -> None:
        super().__init__(**named)
        self.set_reactive(Ruler.data, data)

    def watch_data(self, before: RulerData | None, now: RulerData | None) -> None:
        """Show the window as it stands now, unless it looks the same as before."""
        width, height = self.content_size
        if width and before and now and ruler(before, width, height) == ruler(now, width, height):
            return
        self.repaint()

    def paint(self, columns: int, rows: int) -> list[str]:
        """Return the rows of the ruler; none without a window."""
        return ruler(self.data, columns, rows) if self.data else []


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
