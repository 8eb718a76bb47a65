"""Large words: the largest size of our letters at which a text fits a width and a number of rows."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from textwrap import wrap
from typing import Literal
from unicodedata import normalize

from holdtimer.screens.bitmap import WHOLE_CELLS, Bitmap, empty, side_by_side, slant
from holdtimer.screens.letters import DRAWN
from holdtimer.screens.pen import Pen

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
