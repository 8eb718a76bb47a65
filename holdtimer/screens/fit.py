"""Fitting text into rows and columns: large letters where there is room, ordinary ones below that."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from textwrap import wrap
from typing import Literal
from unicodedata import normalize

from rich.text import Text

from holdtimer.screens.bitmap import (
    BLOCKS,
    WHOLE_CELLS,
    Bitmap,
    Pen,
    box,
    empty,
    read_blocks,
    side_by_side,
    slant,
)
from holdtimer.screens.font import DRAWN
from holdtimer.screens.view import Line

Align = Literal["left", "center"]

LEAST_ROWS = 5 if WHOLE_CELLS else 3  # smaller letters can't be told apart


@dataclass(frozen=True, slots=True)
class Cut:
    """One size of the letters: capital `height` and `bar` in units; `stem`, `counter` and `gap` in dots."""

    height: int
    bar: int
    stem: int
    counter: int
    gap: int

    @property
    def space(self) -> int:
        """The width of a word space in dots, the gaps at its sides left out."""
        return self.stem + self.counter // 2 - self.gap // 2

    @property
    def mark(self) -> int:
        """The height in units of an accent with the air under it; whole rows."""
        return max(2, 2 * self.bar)

    def width(self, letter: str) -> int:
        """Return the width of a letter in dots; even, so that a stem can stand midway."""
        usual = 2 * self.stem + self.counter
        if letter in "MWÆŒ":
            return 3 * self.stem + 2 * max(2, self.counter // 2)
        if letter in "I.,:;'!·":
            return self.stem
        if letter in "()":
            return self.stem + max(2, self.stem // 4 * 2)
        if letter == "N":
            return usual + self.stem // 4 * 2 + 2 * (self.counter == 2)
        return self.space if letter == " " else usual

    def pen(self, letter: str) -> Pen:
        """Return the pen that draws a letter."""
        return Pen(self.width(letter), self.height, self.stem, self.bar)


def cuts(rows: int) -> Iterator[Cut]:
    """Yield the letters of so many rows, from wide and airy to narrow and tight."""
    height = 2 * rows
    bar = max(1, round(height / 6))
    stem = 2 * bar
    widest, least = round(0.32 * height) * 2, max(1, round(0.17 * height)) * 2
    for counter in range(widest, least - 1, -2):
        yield Cut(height, bar, stem, counter, gap=stem)
    yield Cut(height, bar, stem, least, gap=bar)


def _rising(pen: Pen) -> Bitmap:
    x = (pen.width - pen.stem) / 2
    return slant(x + pen.stem / 2, 0, x - pen.stem / 4, pen.height, pen.stem, pen.height)


def _roof(pen: Pen) -> Bitmap:
    middle = (pen.width - pen.stem) / 2
    side = slant(middle, 0, middle - pen.stem, pen.height, pen.stem, pen.height)
    return side | side.mirrored(pen.width)


def _two_dots(pen: Pen) -> Bitmap:
    return pen.left() | pen.right()


def _wave(pen: Pen) -> Bitmap:
    low = pen.height - pen.bar
    return pen.block(0, low, pen.stem, pen.height) | pen.block(pen.stem // 2, 0, pen.width, pen.bar)


def _ring(pen: Pen) -> Bitmap:
    hole = pen.block(
        pen.width / 2 - pen.bar / 2, pen.height // 3, pen.width / 2 + pen.bar / 2, pen.height - 1
    )
    return (
        pen.block((pen.width - pen.stem) / 2 - pen.bar, 0, (pen.width + pen.stem) / 2 + pen.bar, pen.height)
        - hole
    )


_ABOVE: dict[str, Callable[[Pen], Bitmap]] = {
    "\u0300": lambda pen: _rising(pen).mirrored(pen.width),
    "\u0301": _rising,
    "\u0302": _roof,
    "\u0303": _wave,
    "\u0308": _two_dots,
    "\u030a": _ring,
}
_BELOW: dict[str, Callable[[Pen], Bitmap]] = {"\u0327": _rising}
_SAME = str.maketrans({"’": "'", "‘": "'", "“": '"', "”": '"', "–": "-", "—": "-", "−": "-", "…": "..."})


@dataclass(frozen=True, slots=True)
class _Sign:
    """A letter and the marks above and below it."""

    letter: str
    above: str = ""
    below: str = ""


def _signs(text: str) -> list[_Sign] | None:
    """Return the text as capitals and marks; None where something in it has no shape here."""
    signs: list[_Sign] = []
    for character in normalize("NFD", text.translate(_SAME).upper()):
        if character in DRAWN or character == " ":
            signs.append(_Sign(character))
        elif signs and character in _ABOVE and not signs[-1].above:
            signs[-1] = _Sign(signs[-1].letter, character, signs[-1].below)
        elif signs and character in _BELOW and not signs[-1].below:
            signs[-1] = _Sign(signs[-1].letter, signs[-1].above, character)
        else:
            return None
    return signs


@lru_cache(maxsize=512)
def _letter(sign: _Sign, cut: Cut, above: int, below: int) -> Bitmap:
    """Draw one letter with its marks, in a field that has room for marks where the line has some."""
    if sign.letter == " ":
        return empty(cut.space, above + cut.height + below)
    pen = cut.pen(sign.letter)
    shape = DRAWN[sign.letter](pen).raised(above, below)
    mark = Pen(pen.width, cut.mark - max(1, cut.bar // 2), cut.stem, cut.bar)
    rest = above + cut.height + below - mark.height
    if sign.above:
        shape |= _ABOVE[sign.above](mark).raised(0, rest)
    if sign.below:
        shape |= _BELOW[sign.below](mark).raised(rest, 0)
    return shape.within(pen.width)


def _marks(signs: list[_Sign], cut: Cut) -> tuple[int, int]:
    """Return the units a line needs above and below its letters."""
    above = cut.mark if any(sign.above for sign in signs) else 0
    below = cut.mark if any(sign.below for sign in signs) else 0
    return above, below


def _columns(signs: list[_Sign], cut: Cut) -> int:
    """Return the columns a line takes."""
    dots = sum(cut.width(sign.letter) for sign in signs) + cut.gap * (len(signs) - 1)
    return (dots + 1) // 2


def _line(signs: list[_Sign], cut: Cut) -> Bitmap:
    """Draw one line of large letters."""
    above, below = _marks(signs, cut)
    return side_by_side([_letter(sign, cut, above, below) for sign in signs], cut.gap)


def word(text: str, rows: int) -> Bitmap | None:
    """Draw a word in narrow letters of so many rows; None where it has no shape or they are too small."""
    signs = _signs(text)
    return _line(signs, list(cuts(rows))[-2]) if signs and rows >= LEAST_ROWS else None


def _breaks(text: str, most: int) -> Iterator[list[list[_Sign]]]:
    """Yield the text in one line, then in two of nearly equal length; nothing where it has no large shape."""
    whole = _signs(text)
    if not whole:
        return
    yield [whole]
    blanks = [at for at, sign in enumerate(whole) if sign.letter == " "]
    if most > 1 and blanks:
        at = min(blanks, key=lambda blank: max(blank, len(whole) - blank))
        yield [whole[:at], whole[at + 1 :]]


def _fits(lines: list[list[_Sign]], cut: Cut, columns: int, rows: int) -> bool:
    """Say whether lines of that size stay within so many columns and rows."""
    high = sum((cut.height + sum(_marks(line, cut))) // 2 for line in lines) + len(lines) - 1
    return high <= rows and all(_columns(line, cut) <= columns for line in lines)


def _set(lines: list[list[_Sign]], cut: Cut, align: Align) -> list[str]:
    """Draw the lines, an empty row between two."""
    drawn = [_line(line, cut).blocks() for line in lines]
    width = max(len(line[0]) for line in drawn)
    place = str.center if align == "center" else str.ljust
    rows = [row for line in drawn for row in ["", *line]][1:]
    return [place(row, width) for row in rows]


def plain_lines(text: str, columns: int, rows: int) -> list[str]:
    """Return the text in ordinary letters, broken at spaces; a last "…" says that the rest had no room."""
    lines = wrap(text, max(1, columns)) or [""]
    if len(lines) > rows:
        lines = [*lines[: rows - 1], lines[rows - 1][: max(0, columns - 1)] + "…"]
    return lines


@lru_cache(maxsize=256)
def _lettering(text: str, columns: int, max_rows: int, align: Align) -> tuple[str, ...]:
    for rows in range(max_rows, LEAST_ROWS - 1, -1):
        for lines in _breaks(text, max_rows // rows):
            for cut in cuts(rows):
                if _fits(lines, cut, columns, max_rows):
                    return tuple(_set(lines, cut, align))
    return tuple(plain_lines(text, columns, max(1, max_rows)))


def lettering(text: str, columns: int, max_rows: int, align: Align = "left") -> list[str]:
    """Draw `text` as large as fits, in two lines where that makes it larger; every row is equally wide.

    Height is gained first, then width. There is a smallest size, of three rows in most terminals; where not
    even that fits, or where a character has no large shape, the text comes in ordinary letters.
    """
    return list(_lettering(" ".join(text.split()), columns, max_rows, align))


LARGE_ROWS = 3
LARGEST_ROWS = 5  # lines never come larger, so that they stay smaller than the headline above them
LABEL_COLUMNS = 11


def set_lines(lines: Sequence[Line], columns: int, rows: int) -> list[str]:
    """Set lines under each other in at most so many rows.

    All come in the largest letters in which they fit. Where not even the smallest large ones do, the first
    lines come in those as far as all others still fit. Where not even ordinary letters fit, the last lines
    give way, each as a whole.
    """
    for size in range(LARGEST_ROWS, LARGE_ROWS, -1):
        larger = [large_line(line, columns, size) for line in lines]
        if all(larger) and _height([block for block in larger if block], gap=1) < rows:
            return _joined([block for block in larger if block], gap=1)
    plain = _fitting([plain_line(line, columns, any(each.label for each in lines)) for line in lines], rows)
    large = [large_line(line, columns) for line in lines[: len(plain)]]
    for count in range(len(plain), 0, -1):
        grown = [block for block in large[:count] if block]
        others = _joined(plain[count:], gap=0)
        drawn = _joined([*grown, others] if others else grown, gap=1)
        if len(grown) == count and len(drawn) <= rows:
            return drawn
    return _joined(plain, gap=1 if _height(plain, gap=1) <= rows else 0)


def plain_rows(lines: Sequence[Line], columns: int) -> int:
    """Return how many rows lines take in ordinary letters."""
    has_labels = any(line.label for line in lines)
    return sum(len(plain_line(line, columns, has_labels)) for line in lines)


def large_rows(lines: Sequence[Line], columns: int) -> int | None:
    """Return how many rows lines take in large letters; None where one can't come in them."""
    blocks = [large_line(line, columns) for line in lines]
    if not all(blocks):
        return None
    return _height([block for block in blocks if block], gap=1)


def plain_line(line: Line, columns: int, has_labels: bool) -> list[str]:
    """Return a line in ordinary letters, its label in a column of its own."""
    room = max(1, columns - LABEL_COLUMNS * has_labels)
    if len(line.label) >= LABEL_COLUMNS:
        return wrap(f"{line.label}: {line.text}", max(1, columns)) or [""]
    texts = wrap(line.text, room) or [""]
    labels = [line.label] + [""] * (len(texts) - 1)
    width = LABEL_COLUMNS * has_labels
    return [f"{label:{width}}{text}" if width else text for label, text in zip(labels, texts, strict=True)]


def large_line(line: Line, columns: int, rows: int = LARGE_ROWS) -> list[str] | None:
    """Return a line in large letters, broken between words; None where a word has no shape or no room."""
    text = f"{line.label}: {line.text}" if line.label else line.text
    return large_text(text, columns, rows)


def large_notice(text: str, columns: int, rows: int) -> list[str] | None:
    """Return a text in one line of large letters with air above and below; None where there is no room."""
    shape = word(text, rows - 1)
    if shape is None or shape.width > 2 * columns - 4:
        return None
    return shape.raised(*((0, 2) if WHOLE_CELLS else (1, 1))).shifted(4).blocks()


@lru_cache(maxsize=256)
def large_text(text: str, columns: int, rows: int = LARGE_ROWS) -> list[str] | None:
    """Return a text in large letters of so many rows, broken between words, an empty row between two lines.

    None where a word has no large shape or is wider than the columns.
    """
    lines, begun = [], ""
    for each in text.split():
        longer = f"{begun} {each}".strip()
        if not begun or _line_fits(longer, columns, rows):
            begun = longer
        else:
            lines.append(begun)
            begun = each
    lines.append(begun)
    if not all(_line_fits(line, columns, rows) for line in lines):
        return None
    shapes = [word(line, rows) for line in lines]
    return _joined([shape.blocks() for shape in shapes if shape is not None], gap=1)


def _line_fits(text: str, columns: int, rows: int) -> bool:
    shape = word(text, rows)
    return shape is not None and (shape.width + 1) // 2 <= columns


def _fitting(blocks: list[list[str]], rows: int) -> list[list[str]]:
    """Return the blocks from the first on that fit; of the first alone, as many rows as do."""
    while len(blocks) > 1 and _height(blocks, gap=0) > rows:
        blocks = blocks[:-1]
    return [block[:rows] for block in blocks]


def _height(blocks: Sequence[list[str]], gap: int) -> int:
    return sum(map(len, blocks)) + gap * (len(blocks) - 1)


def _joined(blocks: Sequence[list[str]], gap: int) -> list[str]:
    return [row for block in blocks for row in [*[""] * gap, *block]][gap:]


MARK = 6  # columns before the words of a line

_ARROW = ("▙▖", "██▙▖", "▛▘")
_SMALL_ARROW = " ▶"


def marked_list(lines: Sequence[str], marked: int | None, columns: int, rows: int) -> tuple[list[Text], int]:
    """Return the rows of all lines, more than `rows` where it has to be scrolled, and the first marked one.

    All come in the largest letters in which they fit; else the marked one alone, and where there is air, a
    row of it after each.
    """
    blocks = _all_large(lines, marked, columns, rows) or _one_large(lines, marked, columns, rows)
    if sum(map(len, blocks)) + len(blocks) <= rows:
        blocks = [[*block, Text()] for block in blocks]
    first = sum(map(len, blocks[:marked])) if marked is not None else 0
    return [row for block in blocks for row in block], first


def marked_line(words: str, columns: int, rows: int) -> list[Text]:
    """Return the marked line in so many rows, in reverse where its words have no room in large letters."""
    large = _largest(words, _room(columns), rows)
    if large is None:
        return [
            Text(row.ljust(columns), "reverse")
            for row in _in_the_middle([f"{_SMALL_ARROW:{MARK}}{words}"], rows)
        ]
    return _behind_an_arrow(large, rows)


def plain_unmarked_line(words: str, columns: int) -> list[Text]:
    """Return a line that is not marked, in ordinary letters."""
    return [Text(f"{'':{MARK}}{row}") for row in wrap(words, _room(columns)) or [""]]


def _room(columns: int) -> int:
    return max(1, columns - MARK - 1)


def _all_large(lines: Sequence[str], marked: int | None, columns: int, rows: int) -> list[list[Text]] | None:
    for size in range(LARGEST_ROWS, LARGE_ROWS - 1, -1):
        drawn = [large_text(line, _room(columns), size) or [] for line in lines]
        if all(drawn) and sum(map(len, drawn)) + len(drawn) <= rows:
            arrows = [_behind_an_arrow if at == marked else _indented for at in range(len(drawn))]
            return [set_with(each, len(each)) for set_with, each in zip(arrows, drawn, strict=True)]
    return None


def _one_large(lines: Sequence[str], marked: int | None, columns: int, rows: int) -> list[list[Text]]:
    blocks = [plain_unmarked_line(line, columns) for line in lines]
    if marked is not None:
        spare = rows - sum(map(len, blocks)) + len(blocks[marked])
        large = _largest(lines[marked], _room(columns), min(spare, 2 * LARGEST_ROWS + 1))
        blocks[marked] = (
            _behind_an_arrow(large, len(large))
            if large is not None
            else [
                Text(f"{_SMALL_ARROW:{MARK}}{row.plain[MARK:]}".ljust(columns), "reverse")
                for row in blocks[marked]
            ]
        )
    return blocks


def _behind_an_arrow(drawn: Sequence[str], rows: int) -> list[Text]:
    marks = _in_the_middle(_ARROW, rows)
    return [Text(f"{mark:{MARK}}{row}") for mark, row in zip(marks, _in_the_middle(drawn, rows), strict=True)]


def _indented(drawn: Sequence[str], rows: int) -> list[Text]:
    return [Text(f"{'':{MARK}}{row}") for row in _in_the_middle(drawn, rows)]


def _largest(words: str, columns: int, most: int) -> list[str] | None:
    """Return the words in the largest letters with which they take at most so many rows; None for none."""
    for size in range(most, LARGE_ROWS - 1, -1):
        large = large_text(words, columns, size)
        if large and len(large) <= most:
            return large
    return None


def _in_the_middle(rows: Sequence[str], of: int) -> list[str]:
    above = (of - len(rows)) // 2
    return [""] * above + [*rows] + [""] * (of - len(rows) - above)


def page_text(lines: Sequence[str], columns: int, rows: int, *, is_urgent: bool = False) -> list[str]:
    """Return the rows of a page; more than `rows` where it has to be scrolled.

    The first lines come in large letters as far as all others still fit; where the page is urgent the first
    one always does. An empty line parts paragraphs, an indented one is an item of a list.
    """
    least = 1 if is_urgent else 0
    plain = [_plain(line, columns) for line in lines]
    large = [_large(line, columns) for line in lines]
    for count in range(len(lines), least, -1):
        drawn = _rows([*large[:count], *plain[count:]])
        if len(drawn) <= rows:
            return drawn
    return _rows([*large[:least], *plain[least:]])


def _rows(blocks: Sequence[list[str]]) -> list[str]:
    return [row for block in blocks for row in block]


def _plain(line: str, columns: int) -> list[str]:
    """Return a line in ordinary letters; an item of a list hangs from its dash."""
    if line.startswith(" "):
        return wrap(line.strip(), max(8, columns), initial_indent="  - ", subsequent_indent="    ")
    return wrap(line, max(1, columns)) or [""]


def _large(line: str, columns: int) -> list[str]:
    """Return a line in large letters with an empty row below, in ordinary ones where they have no shape."""
    if not line:
        return [""]
    drawn = large_text(f"- {line.strip()}" if line.startswith(" ") else line, columns)
    return [*(drawn or _plain(line, columns)), ""]


_FILLED = ("▟█████▙", "███████", "█ TAP █", "▜█████▛")
_HOLLOW = ("▛▀▀▀▀▀▜", "▌     ▐", "▌  –  ▐", "▙▄▄▄▄▄▟")


def tap_rows(words: str, columns: int, rows: int, live: bool = True) -> list[str]:
    """Draw the key and the words beside it in exactly `rows` rows.

    The key is filled when a tap counts and a bare rim with a dash when none does. It gives up its large
    letters first, so that the words keep theirs.
    """
    space = max(3, rows // 2 + 1)
    most = rows - (rows > 3) - (rows > 6)
    for key in (_large_key(rows, live), _plain_key(rows, live)):
        if key is None or len(key[0]) + space > columns // 2:
            continue
        drawn = lettering(words, columns - len(key[0]) - space, most)
        if len(drawn) >= LEAST_ROWS:
            return _beside(key, drawn, space)
    key = _plain_key(rows, live)
    return _beside(key, plain_lines(words, columns - len(key[0]) - space, most), space)


def _beside(key: list[str], words: list[str], space: int) -> list[str]:
    """Set the words at half height beside the key; large ones to the half row where there are such."""
    spare = len(key) - len(words)
    if WHOLE_CELLS or not set("".join(words)) <= set(BLOCKS):
        lines = [""] * ((spare + 1) // 2) + words + [""] * (spare // 2)
    else:
        lines = read_blocks(words).raised(spare, spare).blocks()
    return [f"{one}{'':{space}}{other}" for one, other in zip(key, lines, strict=True)]


def _large_key(rows: int, live: bool) -> list[str] | None:
    """Draw a key whose letters are cut out of it; None where they would be too small."""
    height = 2 * rows
    margin = max(1, height // 5)
    letters = word("TAP", rows - margin)
    if letters is None:
        return None
    width = (letters.width + 4 * margin + 3) // 2 * 2
    cap = box(0, 0, width, height, height, radius=margin + 0.5)
    if not live:
        cap = cap.outline(max(1, height // 14))
        half = width / 4
        dash = box(half, rows - 1, width - half, rows + max(1, margin // 2), height)
        return (cap | dash).within(width).blocks()
    above = (height - letters.height) // 2
    inside = letters.raised(above, height - letters.height - above).shifted((width - letters.width) // 2)
    return (cap - inside).blocks()


def _plain_key(rows: int, live: bool) -> list[str]:
    """Draw a key with plain letters, or a rim with a dash."""
    top, empty, label, bottom = _FILLED if live else _HOLLOW
    if rows < 3:
        return [label] + [" " * len(label)] * (rows - 1)
    inner = [label if row == rows // 2 else empty for row in range(1, rows - 1)]
    return [top, *inner, bottom]
