"""Fitting text into columns and rows: large letters where there is room, ordinary ones below that.

A block is the rows one text takes. Every text has a block in large letters of each size, where its characters
have a shape and its words the room, and one in ordinary letters. What is shown takes the largest that fit.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import zip_longest
from textwrap import wrap
from typing import Literal

from rich.text import Text

from holdtimer.screens.bitmap import WHOLE_CELLS, Bitmap, Pen
from holdtimer.screens.font import CLOCK, Cut, Letter, cuts, letters

Block = Sequence[str]
DigitStyle = Literal["solid", "hollow"]

LEAST_ROWS = 5 if WHOLE_CELLS else 3  # smaller letters look too much alike
LARGE_ROWS = 3
LARGEST_ROWS = 5  # of lines, so that they stay smaller than the headline above them
LABEL_COLUMNS = 11
MARK = 6  # columns before the words in a list
_LEAST_WORDS, _VALUE_COLUMNS = 30, 40  # columns of words beside a value, and the most of a value


def stack(blocks: Sequence[Block], gap: int = 0) -> list[str]:
    """Return blocks under each other, so many empty rows between two."""
    return [row for block in blocks for row in [*[""] * gap, *block]][gap:]


def in_the_middle(block: Block, rows: int) -> list[str]:
    """Return a block at half height of so many rows."""
    above = max(0, rows - len(block)) // 2
    return [*[""] * above, *block, *[""] * (rows - len(block) - above)]


# -- one text ------------------------------------------------------------------------------------------------


def plain_text(text: str, columns: int, rows: int | None = None) -> list[str]:
    """Return a text in ordinary letters, broken at spaces; a last "…" says that the rest had no room."""
    lines = wrap(text, max(1, columns)) or [""]
    if rows is not None and len(lines) > rows:
        lines = [*lines[: rows - 1], lines[rows - 1][: max(0, columns - 1)] + "…"]
    return lines


def word(text: str, rows: int) -> Bitmap | None:
    """Draw a word in narrow letters of so many rows; None where it has no shape or they are too small."""
    shapes = letters(text)
    return _narrow(rows).draw(shapes) if shapes and rows >= LEAST_ROWS else None


@lru_cache(maxsize=256)
def large_text(text: str, columns: int, rows: int = LARGE_ROWS) -> Block | None:
    """Return a text in narrow letters of so many rows, broken between words, an empty row between two lines.

    None where a word has no large shape or is wider than the columns.
    """
    lines: list[str] = []
    for each in text.split():
        longer = f"{lines[-1]} {each}" if lines else each
        if lines and _narrow_columns(longer, rows) <= columns:
            lines[-1] = longer
        else:
            lines.append(each)
    shapes = [word(line, rows) for line in lines if _narrow_columns(line, rows) <= columns]
    drawn = [shape.blocks() for shape in shapes if shape is not None]
    return stack(drawn, gap=1) if len(drawn) == len(lines) else None


def largest_text(text: str, columns: int, rows: int) -> Block | None:
    """Return a text in the largest narrow letters in which it fits; None where it fits in none."""
    sizes = (large_text(text, columns, size) for size in range(rows, LARGE_ROWS - 1, -1))
    return next((block for block in sizes if block and len(block) <= rows), None)


@lru_cache(maxsize=256)
def lettering(text: str, columns: int, rows: int) -> Block:
    """Draw a headline as large as fits, in two lines where that makes it larger.

    Height is gained first, then width. Where not even the smallest letters fit, or where a character has no
    large shape, the text comes in ordinary letters.
    """
    text = " ".join(text.split())
    whole = letters(text)
    for size in range(rows if whole else 0, LEAST_ROWS - 1, -1):
        for lines in _breaks(whole or (), rows // size):
            narrowest = cuts(size)[-1]
            height = sum(map(narrowest.rows, lines)) + len(lines) - 1
            if height <= rows and _width(lines, narrowest) <= columns:
                widest = next(cut for cut in cuts(size) if _width(lines, cut) <= columns)
                return stack([widest.draw(line).blocks() for line in lines], gap=1)
    return plain_text(text, columns, max(1, rows))


def _breaks(line: tuple[Letter, ...], most: int) -> list[list[tuple[Letter, ...]]]:
    """Return a line as it is, and where there is room for two also broken into two of nearly equal length."""
    blanks = [at for at, letter in enumerate(line) if letter.base == " "]
    if most < 2 or not blanks:
        return [[line]]
    at = min(blanks, key=lambda blank: max(blank, len(line) - blank))
    return [[line], [line[:at], line[at + 1 :]]]


def _width(lines: Sequence[tuple[Letter, ...]], cut: Cut) -> int:
    return max(map(cut.columns, lines))


def _narrow(rows: int) -> Cut:
    return cuts(rows)[-2]


def _narrow_columns(text: str, rows: int) -> int:
    return _narrow(rows).columns(letters(text) or ())


@lru_cache(maxsize=256)
def large_notice(text: str, columns: int, rows: int) -> Block | None:
    """Return a text in one line of large letters with air above and below; None where there is no room."""
    shape = word(text, rows - 1)
    if shape is None or shape.width > 2 * columns - 4:
        return None
    return shape.raised(*((0, 2) if WHOLE_CELLS else (1, 1))).shifted(4).blocks()


# -- several texts -------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Line:
    """A line of smaller words; `label` says what it is about."""

    text: str
    label: str = ""

    @property
    def words(self) -> str:
        """Label and text in one."""
        return f"{self.label}: {self.text}" if self.label else self.text

    def plain(self, columns: int, has_labels: bool) -> list[str]:
        """Return the line in ordinary letters, its label in a column of its own."""
        if not has_labels or len(self.label) >= LABEL_COLUMNS:
            return plain_text(self.words, columns)
        texts = plain_text(self.text, columns - LABEL_COLUMNS)
        return [f"{'' if at else self.label:{LABEL_COLUMNS}}{text}" for at, text in enumerate(texts)]


def plain_lines(lines: Sequence[Line], columns: int) -> list[list[str]]:
    """Return lines in ordinary letters."""
    has_labels = any(line.label for line in lines)
    return [line.plain(columns, has_labels) for line in lines]


def large_rows(lines: Sequence[Line], columns: int) -> int | None:
    """Return how many rows lines take in large letters; None where one can't come in them."""
    large = [large_text(line.words, columns) for line in lines]
    return len(stack([block for block in large if block], gap=1)) if all(large) else None


def set_lines(columns: int, rows: int, lines: Sequence[Line]) -> list[str]:
    """Set lines under each other in at most so many rows.

    All come in the largest letters in which they fit. Where not even the smallest large ones do, the first
    lines come in those as far as all others still fit. Where not even ordinary letters fit, the last lines
    give way, each as a whole.
    """
    plain = plain_lines(lines, columns)
    while len(plain) > 1 and len(stack(plain)) > rows:
        plain.pop()
    plain = [block[:rows] for block in plain]
    texts = [line.words for line in lines]
    airy = stack(plain, gap=1)
    return _grown(texts, plain, columns, rows) or (airy if len(airy) <= rows else stack(plain))


MOST_PAGES = 8  # that large letters may take, and half as many those that could be smaller


def pages(
    lines: Sequence[str], columns: int, rows: int, most_even: int = 0, urgent: int = 0
) -> list[list[str]]:
    """Set lines on as many pages as they need, each of at most so many rows.

    What matters less never comes in larger letters: the first lines grow as in `set_lines`. With `most_even`
    pages all lines come in the same letters, large ones where they take no more than that; where they do, the
    first `urgent` alone stay large. An empty line separates paragraphs, an indented one is an item of a list.
    """
    texts = [f"- {line.strip()}" if line.startswith(" ") else line for line in lines]
    plain = [_item(line, columns) if line.startswith(" ") else plain_text(line, columns) for line in lines]
    if not most_even and len(stack(plain)) <= rows:
        return [_grown(texts, plain, columns, rows) or stack(plain)]
    keeps_next = [line.endswith((":", "?")) for line in lines]
    for size in range(LARGEST_ROWS, LARGE_ROWS - 1, -1) if most_even else ():
        large = _large_pages(texts, keeps_next, columns, rows, size)
        if large and len(large) <= (most_even if size == LARGE_ROWS else max(1, most_even // 2)):
            return large
    first = _large_pages(texts[:urgent], keeps_next, columns, rows, LARGE_ROWS) if urgent else None
    begun = urgent if first else 0
    return [*(first or []), *_broken(plain[begun:], keeps_next[begun:], max(1, rows), gap=0)]


def _large_pages(
    texts: Sequence[str], keeps_next: Sequence[bool], columns: int, rows: int, size: int
) -> list[list[str]] | None:
    """Return texts in letters of so many rows, page by page; None where a text fits on none."""
    drawn = [large_text(text, columns, size) if text else [] for text in texts]
    blocks = [block for block in drawn if block is not None and len(block) <= rows]
    return _broken(blocks, keeps_next, rows, gap=1) if len(blocks) == len(texts) else None


def _broken(blocks: Sequence[Block], keeps_next: Sequence[bool], rows: int, gap: int) -> list[list[str]]:
    """Break blocks into pages, no page ending with one that leads to the next; only high ones are broken."""
    found: list[list[Block]] = [[]]
    for block, follows in zip(blocks, (False, *keeps_next), strict=False):
        if len(stack([*found[-1], block], gap)) > rows and found[-1]:
            found.append([found[-1].pop()] if follows and len(found[-1]) > 1 else [])
        if found[-1] or any(block):  # no page begins with an empty line
            found[-1].append(block)
    each = [stack(page, gap) for page in found]
    return [page[at : at + rows] for page in each for at in range(0, max(1, len(page)), rows)]


def _item(line: str, columns: int) -> list[str]:
    return wrap(line.strip(), max(8, columns), initial_indent="  - ", subsequent_indent="    ")


def _grown(texts: Sequence[str], plain: Sequence[Block], columns: int, rows: int) -> list[str] | None:
    """Return texts large: all, or the first ones as far as the others fit in ordinary letters; else None."""
    if all_large := _all_large(texts, columns, rows):
        return stack(all_large, gap=1)
    drawn = [large_text(text, columns) for text in texts]
    large = [block if each is None else each for each, block in zip(drawn, plain, strict=False)]
    for count in range(len(plain), 0, -1):
        others = stack(plain[count:])
        grown = stack([*large[:count], others] if others else large[:count], gap=1)
        if len(grown) <= rows:
            return grown
    return None


def _all_large(texts: Sequence[str], columns: int, rows: int) -> list[Block] | None:
    """Return texts in the largest letters in which all fit, a row of air after each; None for none."""
    for size in range(LARGEST_ROWS, LARGE_ROWS - 1, -1):
        drawn = [large_text(text, columns, size) for text in texts]
        blocks = [block for block in drawn if block is not None]
        if len(blocks) == len(texts) and len(stack(blocks, gap=1)) < rows:
            return blocks
    return None


# -- lists with a mark ---------------------------------------------------------------------------------------

_ARROW = ("▙▖", "██▙▖", "▛▘")
_SMALL_ARROW = " ▶"


def marked_list(lines: Sequence[str], marked: int | None, columns: int, rows: int) -> tuple[list[Text], int]:
    """Return the rows of all lines, more than `rows` where it has to be scrolled, and the first marked one.

    All come in the largest letters in which they fit; else the marked one alone, and where there is air, a
    row of it after each.
    """
    large = _all_large(lines, _room(columns), rows)
    blocks = large or [plain_text(line, _room(columns)) for line in lines]
    items = [list_item(block) for block in blocks]
    if marked is not None:
        most = len(blocks[marked])
        most = most if large else min(rows - len(stack(blocks)) + most, 2 * LARGEST_ROWS + 1)
        grown = largest_text(lines[marked], _room(columns), most) or blocks[marked]
        items[marked] = marked_item(lines[marked], columns, len(grown))
    if sum(map(len, items)) + len(items) <= rows:
        items = [[*item, Text()] for item in items]
    first = sum(map(len, items[:marked])) if marked is not None else 0
    return [row for item in items for row in item], first


@dataclass(frozen=True, slots=True)
class Fact:
    """An item of a list: what it comes to, in large letters where there is room, and words beside it."""

    value: str
    words: tuple[str, ...]  # each begins a row of its own beside a large value


def fact_list(facts: Sequence[Fact], marked: int | None, columns: int, rows: int) -> tuple[list[Text], int]:
    """Return the rows of all facts, more than `rows` where it has to be scrolled, and the first marked one.

    All values come in letters of one size, the largest in which everything fits, in two columns where that
    makes it larger.
    """
    size, across, width = next(_fact_sizes(facts, columns, rows), (1, 1, columns - 1))
    value_columns = max((len(_value(fact, size)[0]) for fact in facts), default=0) + 2
    room = max(1, width - MARK - value_columns)
    items = []
    for index, fact in enumerate(facts):
        value, words = _value(fact, size), _fact_words(fact, room, size)
        height = max(size, len(words))
        is_marked = index == marked
        mark = in_the_middle(_ARROW if size > 1 else [_SMALL_ARROW], height) if is_marked else [""] * height
        pairs = zip(mark, in_the_middle(value, height), in_the_middle(words, height), strict=True)
        item = [
            Text.assemble(
                f"{left:{MARK}}{figure:{value_columns}}", (f"{text:{room}}", "reverse" if is_marked else "")
            )
            for left, figure, text in pairs
        ]
        items.append(item)
    each = -(-len(items) // across) or 1
    beside = [items[at : at + each] for at in range(0, len(items), each)]
    has_air = all(sum(map(len, column)) + len(column) <= rows for column in beside)
    lines = [[row for item in column for row in [*item, *[Text()] * has_air]] for column in beside]
    first = sum(len(item) + has_air for item in items[: marked or 0][(marked or 0) // each * each :])
    drawn = []
    for row in zip_longest(*lines, fillvalue=Text()):
        joined = Text()
        for text in row:
            joined.append_text(text)
            joined.pad_right(max(0, width - text.cell_len))
        joined.rstrip()
        drawn.append(joined)
    return drawn, first


def _fact_sizes(facts: Sequence[Fact], columns: int, rows: int) -> Iterator[tuple[int, int, int]]:
    """Yield sizes in which all facts fit, largest first, in how many columns, and how wide each is."""
    for size in (*range(LARGEST_ROWS, LARGE_ROWS - 1, -1), 1):
        for across in (1, 2):
            width = (columns - 1) // across
            room = width - MARK - max((len(_value(fact, size)[0]) for fact in facts), default=0) - 2
            each = -(-len(facts) // across)
            fits = room >= _LEAST_WORDS and all(len(_fact_words(fact, room, size)) <= size for fact in facts)
            if fits and each * size <= rows and all(len(_value(fact, size)) == size for fact in facts):
                yield size, across, width


def _value(fact: Fact, size: int) -> Block:
    """Return the value in letters of so many rows; an empty one is as high."""
    if size == 1 or not fact.value:
        return [fact.value] if size == 1 else [""] * size
    return large_text(fact.value, _VALUE_COLUMNS, size) or [fact.value]


def _fact_words(fact: Fact, room: int, size: int) -> list[str]:
    lines = fact.words if size > 1 else (" · ".join(fact.words),)
    return [row for words in lines for row in plain_text(words, room)]


def list_item(block: Block) -> list[Text]:
    """Return a line of a list that is not marked."""
    return [Text(f"{'':{MARK}}{row}") for row in block]


def marked_item(words: str, columns: int, rows: int) -> list[Text]:
    """Return the marked line in so many rows, in reverse where its words have no room in large letters."""
    if large := largest_text(words, _room(columns), rows):
        pairs = zip(in_the_middle(_ARROW, rows), in_the_middle(large, rows), strict=True)
        return [Text(f"{mark:{MARK}}{row}") for mark, row in pairs]
    plain = plain_text(words, _room(columns), rows)
    plain = [f"{'' if at else _SMALL_ARROW:{MARK}}{row}" for at, row in enumerate(plain)]
    return [Text(row.ljust(columns), "reverse") for row in in_the_middle(plain, rows)]


def _room(columns: int) -> int:
    return max(1, columns - MARK - 1)


# -- digits --------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class DigitSize:
    """One size of digits, in dots and units; every glyph begins and ends at the edge of a cell."""

    digit: int
    height: int
    stem: int
    bar: int

    @property
    def rows(self) -> int:
        """Terminal rows."""
        return self.height // 2

    @property
    def gap(self) -> int:
        """Columns between two glyphs."""
        return self.stem // 2

    def columns(self, character: str) -> int:
        """Columns of one glyph."""
        return (self.stem if character == ":" else self.digit) // 2

    def width(self, text: str) -> int:
        """Columns of the whole text."""
        return sum(map(self.columns, text)) + self.gap * (len(text) - 1)


@lru_cache(maxsize=64)
def digit_size(text: str, columns: int, rows: int) -> DigitSize | None:
    """Return the largest size at which `text` (digits, ":", spaces) fits; None where not even three rows do.

    Height comes first; a digit is at most 0.72 and at least 0.48 as wide as high.
    """
    for height in range(2 * rows, 5, -2):
        bar = max(1, round(height * 0.16))
        stem = 2 * bar
        colons = text.count(":")
        spare = 2 * columns - colons * stem - stem * (len(text) - 1)
        digit = min(spare // max(1, len(text) - colons), round(1.44 * height)) // 2 * 2
        if digit >= max(6, 0.96 * height):
            return DigitSize(digit, height, stem, bar)
    return None


@lru_cache(maxsize=256)
def digit_glyph(character: str, size: DigitSize, style: DigitStyle) -> tuple[str, ...]:
    """Draw one digit, ":" or space as rows of block characters."""
    pen = Pen(size.stem if character == ":" else size.digit, size.height, size.stem, size.bar)
    shape = CLOCK[character](pen)
    if style == "hollow" and size.bar > 2 and not WHOLE_CELLS:
        shape = shape.outline(round(size.bar / 3))
    return tuple(shape.within(pen.width).blocks())


def digits(text: str, columns: int, rows: int, style: DigitStyle = "solid", widest: str = "") -> list[str]:
    """Draw `text` as large as it fits, or as `widest` would fit; as one plain row where nothing fits.

    ValueError for anything but digits, ":" and spaces.
    """
    if odd := set(text) - set(CLOCK):
        raise ValueError(f"no large glyph for {''.join(sorted(odd))!r}")
    size = digit_size(widest or text, columns, rows)
    if size is None or size.width(text) > columns:
        return [text]
    glyphs = [digit_glyph(character, size, style) for character in text]
    return [(" " * size.gap).join(row) for row in zip(*glyphs, strict=True)]
