"""Paragraphs and tables laid out in lines of a given width, the columns aligned, each piece with its style.

Where the width is short, columns that may be left out go first; then names are broken. No text steers a
terminal. A cell may be drawn, in one line of text: a ruler of a window, what is expected, a curve of results.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from holdtimer.session.results import SetResult
from holdtimer.text import clock, sanitize

# ---- what is drawn in a cell

_STEPS = (15, 30, 60, 120, 300)  # seconds between numbers on the scale


@dataclass(frozen=True, slots=True)
class Glyphs:
    """The characters that are drawn with; `levels` are those of a curve, lowest first."""

    worked: str
    idle: str
    failed: str
    back: str
    likely: str
    middle: str
    levels: str
    to_end: str


UNICODE = Glyphs("━", "·", "▼", "▽", "─", "◆", "▁▂▃▄▅▆▇", "█")
ASCII = Glyphs("=", ".", "x", "o", "-", "*", "_.-=^", "+")
BAND = ("[", "]")
ANOTHER_RUNG = "|"
_LOWEST = 1 / 3  # the share of a window that a curve begins at


@dataclass(frozen=True, slots=True)
class Axis:
    """Seconds across so many columns, from the opening of a window."""

    seconds: float
    columns: int

    def edge(self, at: float) -> int:
        """Return the edge between two columns that is nearest to an instant."""
        return round(max(0.0, min(1.0, at / self.seconds)) * self.columns)

    def cell(self, at: float, window_s: float) -> int:
        """Return the column that shows an instant of a window."""
        return min(self.edge(at), self.edge(window_s) - 1)

    def scale(self, marks: Iterable[float] = ()) -> str:
        """Return seconds as numbers, each at its place: both ends, these marks, and others that have room."""
        line = [" "] * self.columns
        least_s = (len(clock(self.seconds)) + 1) * self.seconds / self.columns
        step = next((each for each in _STEPS if each > least_s), _STEPS[-1])
        for at in (0.0, self.seconds, *marks, *range(step, int(self.seconds), step)):
            text = clock(at)
            start = min(self.edge(at), self.columns - len(text))
            if not "".join(line[max(0, start - 1) : start + len(text) + 1]).strip():
                line[start : start + len(text)] = text
        return "".join(line)


def ruler(result: SetResult, axis: Axis, glyphs: Glyphs) -> str:
    """Draw the window of a set: when it was worked, the band, each stamp; the first failure above all."""
    window = result.window_s
    cells = _track(axis, window, result.worked, glyphs.worked, glyphs.idle)
    _bracket(cells, axis, window, result.band_s)
    first = [] if result.first_failure_s is None else [result.first_failure_s]
    for sign, times in (
        (glyphs.back, result.reentries_s),
        (glyphs.failed, (*result.failures_s, *first)),
    ):
        for at in times:
            cells[axis.cell(at, window)] = sign
    return "".join(cells)


def expectation(
    expected_s: tuple[float, float, float],
    window_s: float,
    band_s: tuple[float, float],
    axis: Axis,
    glyphs: Glyphs,
) -> str:
    """Draw where failure is expected on most days, and the middle of it, in a window with its band."""
    low, middle, high = expected_s
    cells = _track(axis, window_s, [(min(low, window_s), min(high, window_s))], glyphs.likely, glyphs.idle)
    _bracket(cells, axis, window_s, band_s)
    if middle < window_s:
        cells[axis.cell(middle, window_s)] = glyphs.middle
    return "".join(cells)


def _track(
    axis: Axis, window_s: float, spans: Iterable[tuple[float, float]], within: str, outside: str
) -> list[str]:
    cells = [outside] * axis.edge(window_s)
    for start, end in spans:
        cells[axis.edge(start) : axis.edge(end)] = within * (axis.edge(end) - axis.edge(start))
    return cells


def _bracket(cells: list[str], axis: Axis, window_s: float, band_s: tuple[float, float]) -> None:
    low, high = band_s
    cells[axis.cell(low, window_s)] = BAND[0]
    cells[axis.edge(high) - 1] = BAND[1]


@dataclass(frozen=True, slots=True)
class Bar:
    """One result in a curve: the share of its window that it lasted (None: to the end), and its rung."""

    share: float | None
    rung: int


def curve(bars: Sequence[Bar], columns: int, glyphs: Glyphs) -> str:
    """Draw the last results that have room, oldest first, a bar where the rung changed between two."""
    drawn: list[str] = []
    for at, bar in enumerate(bars):
        if at and bar.rung != bars[at - 1].rung:
            drawn.append(ANOTHER_RUNG)
        drawn.append(_level(bar, glyphs))
    return "".join(drawn[-columns:])


def curve_columns(bars: Sequence[Bar]) -> int:
    """Return the columns of the curve of all these results."""
    return len(curve(bars, 2 * len(bars), ASCII))


def _level(bar: Bar, glyphs: Glyphs) -> str:
    if bar.share is None:
        return glyphs.to_end
    height = (bar.share - _LOWEST) / (1 - _LOWEST) * len(glyphs.levels)
    return glyphs.levels[min(max(int(height), 0), len(glyphs.levels) - 1)]


# ---- paragraphs and tables

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
