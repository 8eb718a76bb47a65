"""Paragraphs and tables laid out in lines of a given width, the columns aligned, each piece with its style.

Where the width is short, columns that may be left out go first; then names are broken. No text steers a
terminal.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from holdtimer.report.drawing import Axis, Glyphs
from holdtimer.text import sanitize

Style = Literal["", "strong", "title", "alarm", "drawn"]
Span = tuple[str, Style]
Line = tuple[Span, ...]
Drawing = Callable[[int, Glyphs], str]
"""Draws a cell in so many columns."""

GAP = 2
LEAST_NAME = 10  # columns of a name that is broken
INDENT = "   "  # of what stands under a row


@dataclass(frozen=True, slots=True)
class Words:
    """A paragraph."""

    text: str
    style: Style = ""


@dataclass(frozen=True, slots=True)
class Column:
    """A column; of those with a `rank` the highest goes first where the width is short.

    A drawn column gets the columns that are left, from `least` to `most`.
    """

    title: str | Drawing = ""
    is_right: bool = False
    rank: int = 0
    least: int = 0
    most: int = 0
    is_name: bool = False


def drawn_column(seconds: float, marks: Iterable[float]) -> Column:
    """Return a column of windows, of so many seconds at most, under their scale with these marks."""
    marks = sorted(marks)
    return Column(lambda width, _: Axis(seconds, width).scale(marks), rank=1, least=12, most=61)


@dataclass(frozen=True, slots=True)
class Row:
    """A cell for each column; `heading` stands above it, `notes` under it."""

    cells: tuple[str | Drawing, ...]
    notes: tuple[Words, ...] = ()
    heading: str = ""
    strong: frozenset[int] = frozenset()  # the cells that stand out


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under the titles of their columns; a column with nothing in it is left out.

    Under them what was drawn is explained, where anything was, and after it the rest.
    """

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    legend: Callable[[Glyphs], str] | None = None
    explained: str = ""


Block = Words | Table


def text_lines(blocks: Iterable[Block], width: int, glyphs: Glyphs | None) -> list[str]:
    """Return blocks as plain lines; with no `glyphs` nothing is drawn."""
    return ["".join(text for text, _ in line).rstrip() for line in lay_out(blocks, width, glyphs)]


def lay_out(blocks: Iterable[Block], width: int, glyphs: Glyphs | None) -> Iterator[Line]:
    """Yield blocks as lines no wider than `width` columns, where it is no narrower than a word or two."""
    for block in blocks:
        if isinstance(block, Words):
            yield from (((line, block.style),) for line in wrapped(block.text, width))
        else:
            yield from _Layout(block, width, glyphs).lines()


def wrapped(text: str, columns: int, indent: str = "") -> list[str]:
    """Return a text in lines, broken at spaces and where a word is too long in it."""
    from rich.cells import chop_cells

    text, lines = sanitize(text), [""]
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}" if lines[-1] else word
        if _columns(longer) <= columns - len(indent):
            lines[-1] = longer
        else:
            pieces = chop_cells(word, max(2, columns - len(indent))) or [""]
            lines += pieces
    return [indent + line for line in lines if line] or [""]


def _columns(text: str) -> int:
    from rich.cells import cell_len

    return cell_len(text)


class _Layout:
    """One table in one width."""

    def __init__(self, table: Table, width: int, glyphs: Glyphs | None) -> None:
        self._table, self._rows, self._width, self._glyphs = table, table.rows, width, glyphs
        kept = [at for at, column in enumerate(table.columns) if self._has_any(at, column)]
        self._columns = {at: table.columns[at] for at in kept}
        self._widths = {at: self._natural(at, column) for at, column in self._columns.items()}
        self._fit()

    def _has_any(self, at: int, column: Column) -> bool:
        if column.most:
            return self._glyphs is not None and any(row.cells[at] != "" for row in self._rows)
        return any(row.cells[at] for row in self._rows)

    def _natural(self, at: int, column: Column) -> int:
        cells = [column.title, *(row.cells[at] for row in self._rows)]
        return max([column.least, *(_columns(sanitize(cell)) for cell in cells if isinstance(cell, str))])

    def _spare(self) -> int:
        return self._width - sum(self._widths.values()) - GAP * (len(self._widths) - 1)

    def _fit(self) -> None:
        """Leave out what has no room, then break names; what is left goes to what is drawn."""
        while self._spare() < 0 and (ranks := {at: each.rank for at, each in self._columns.items()}):
            last = max(ranks, key=lambda at: ranks[at])
            if not ranks[last]:
                break
            del self._columns[last], self._widths[last]
        for at, column in self._columns.items():
            if column.is_name and self._spare() < 0:
                self._widths[at] = max(LEAST_NAME, self._widths[at] + self._spare())
            elif column.most:
                self._widths[at] = min(column.most, self._widths[at] + max(0, self._spare()))

    def lines(self) -> Iterator[Line]:
        """Yield the titles, then each row with what belongs to it."""
        titles = {at: column.title for at, column in self._columns.items()}
        if any(titles.values()):
            for line in self._line(titles, frozenset()):
                yield tuple((text, "title") for text, _ in line)
        for row in self._rows:
            if row.heading:
                yield ()
                yield from (((line, "strong"),) for line in wrapped(row.heading, self._width))
            yield from self._line({at: row.cells[at] for at in self._columns}, row.strong)
            for note in row.notes:
                yield from (((line, note.style),) for line in wrapped(note.text, self._width, INDENT))
        explained = [self._legend(), self._table.explained]
        if any(explained):
            yield ()
            yield from (((line, ""),) for line in wrapped(" ".join(filter(None, explained)), self._width))

    def _legend(self) -> str:
        is_drawn = any(column.most for column in self._columns.values())
        return self._table.legend(self._glyphs) if self._table.legend and self._glyphs and is_drawn else ""

    def _line(self, cells: dict[int, str | Drawing], strong: frozenset[int]) -> Iterator[Line]:
        """Yield the one line of a row, and what of a broken name stands under it."""
        shown = {at: self._shown(at, cell) for at, cell in cells.items()}
        for number in range(max(map(len, shown.values()))):
            spans: list[Span] = []
            for at, lines in shown.items():
                text = lines[number] if number < len(lines) else ""
                style: Style = "strong" if at in strong else "drawn" if callable(cells[at]) else ""
                blank = " " * (self._widths[at] - _columns(text))
                gap = " " * GAP if spans else ""
                spans += [(gap + blank, ""), (text, style)] if self._columns[at].is_right else [
                    (gap, ""), (text, style), (blank, "")
                ]  # fmt: skip
            yield _without_end(spans)

    def _shown(self, at: int, cell: str | Drawing) -> Sequence[str]:
        if callable(cell):
            return [cell(self._widths[at], self._glyphs)] if self._glyphs is not None else []
        return wrapped(cell, self._widths[at]) if self._columns[at].is_name else [sanitize(cell)]


def _without_end(spans: list[Span]) -> Line:
    """Return a line with no blanks at its end."""
    while spans and not spans[-1][0].strip():
        spans.pop()
    return tuple(span for span in spans if span[0])
