"""The shapes of digits, capital letters and signs, drawn by rule, so that every size is well formed.

A `Cut` is one size of the letters. What size a text gets is decided in `fit`.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from unicodedata import normalize

from holdtimer.screens.bitmap import Bitmap, Pen, empty, side_by_side, slant

Draw = Callable[[Pen], Bitmap]


def _one(p: Pen) -> Bitmap:
    x = (p.width - p.stem + 1) // 2
    reach = max(2, p.height // 4)
    flag = p.lean_within(x - 2 * reach * 3 // 4, 0, x + p.stem, p.bar + reach)
    flag -= p.block(0, 0, max(0, x - p.width // 2 + 1), p.height)
    foot = p.across(p.height - p.bar, p.width // 10, p.width - p.width // 10)
    return flag | p.upright(x) | foot


def _two(p: Pen) -> Bitmap:
    knee = p.height * 9 // 20
    arc = p.bowl(0, 2 * knee, "ab")
    arc -= p.block(0, p.bar + max(1, p.height // 9), p.width / 2, p.height) | p.block(
        0, knee, p.width, p.height
    )
    foot = p.height - p.bar
    return arc | p.lean_within(0, knee, p.width, foot + p.bar // 2) | p.bottom()


def _three(p: Pen) -> Bitmap:
    mid = p.middle
    both = p.bowl(0, mid + p.bar, "abd") | p.bowl(mid, p.height, "bcd")
    end = p.bar + p.height // 9
    half = p.width / 2
    open_side = p.block(0, end, half, mid) | p.block(0, mid + p.bar, half, p.height - end)
    open_side |= p.block(0, mid, p.width * 3 // 10, mid + p.bar)
    return both - open_side


def _four(p: Pen) -> Bitmap:
    bar_top = p.height - p.bar - max(1, round(p.height * 0.18))
    x = p.width - p.stem - max(1, p.width // 9)
    thick = max(2, min(p.stem, x - 2))  # the inside stays open in narrow digits
    slope = slant(x, 0, 0, bar_top + p.bar // 2, thick, p.height)
    return slope | p.upright(x) | p.across(bar_top)


def _five(p: Pen) -> Bitmap:
    mid = max(p.bar + 1, p.height * 4 // 10 - p.bar // 3)
    end = p.bar + p.height // 9
    bowl = p.bowl(mid, p.height, "bcd") - p.block(0, mid + p.bar, p.width / 2, p.height - end)
    return bowl | p.top() | p.left(0, mid + p.bar)


def _six(p: Pen) -> Bitmap:
    mid = max(p.bar + 1, p.height * 4 // 10 - p.bar // 3)
    end = p.bar + max(1, p.height // 12)
    hook = p.bowl(0, p.height, "abcd") - p.block(p.width / 2, end, p.width, p.height - p.bar)
    return hook | p.bowl(mid, p.height, "bcd")


def _eight(p: Pen) -> Bitmap:
    mid = p.middle
    inset = 2 * (p.height // 20)
    return p.bowl(0, mid + p.bar, "abcd", inset, p.width - inset) | p.bowl(mid, p.height)


DIGITS: dict[str, Draw] = {
    "0": lambda p: p.bowl(0, p.height),
    "1": _one,
    "2": _two,
    "3": _three,
    "4": _four,
    "5": _five,
    "6": _six,
    "7": lambda p: p.top() | p.lean_within(p.width // 5, p.bar, p.width, p.height),
    "8": _eight,
    "9": lambda p: _six(p).turned(),
}


def _colon(p: Pen) -> Bitmap:
    size = p.bar + max(0, p.bar // 4)
    first, second = p.height // 4, p.height - p.height // 4 - size
    return p.block(0, first, p.stem, first + size) | p.block(0, second, p.stem, second + size)


CLOCK: dict[str, Draw] = {**DIGITS, ":": _colon, " ": Pen.nothing}


def _a(p: Pen) -> Bitmap:
    if p.width < 5 * p.stem:  # leaning legs would close the inside
        return p.bowl(0, p.height + 2 * p.bar, "ab") | p.across(p.height * 11 // 20)
    half = (p.width - p.stem) / 2
    leg = p.lean_within(0, 0, half + p.stem, p.height)
    bar_top = p.height * 6 // 10
    inset = round((p.height - bar_top) / p.height * half)
    return leg | leg.mirrored(p.width) | p.across(bar_top, inset, p.width - inset)


def _c(p: Pen) -> Bitmap:
    end = p.bar + max(1, p.height // 7)
    return p.bowl(0, p.height) - p.block(p.width / 2, end, p.width, p.height - end)


def _e(p: Pen) -> Bitmap:
    return p.left() | p.top() | p.bottom() | p.across(p.middle, 0, p.width - max(1, p.stem // 2))


def _f(p: Pen) -> Bitmap:
    return p.left() | p.top() | p.across(p.middle, 0, p.width - max(1, p.stem // 2))


def _g(p: Pen) -> Bitmap:
    spur = p.height // 2
    end = min(p.bar + max(1, p.height // 7), spur - 1)
    open_side = p.block(p.width / 2, end, p.width, spur)
    return p.bowl(0, p.height, "abc") - open_side | p.across(spur, p.width // 2)


def _j(p: Pen) -> Bitmap:
    end = p.height - p.bar - max(1, p.height // 7)
    hook = p.bowl(0, p.height, "cd") - p.block(0, 0, p.width - p.stem, end)
    return hook - p.block(0, 0, p.stem, end)


def _k(p: Pen) -> Bitmap:
    mid = p.height // 2
    start = p.stem if p.bar == 1 else p.stem // 2
    arm = p.lean_within(start, 0, p.width, mid + p.bar // 2)
    leg = p.lean_within(start, 0, p.width, p.height - mid + p.bar // 2).flipped()
    return p.left() | arm | leg


def _m(p: Pen) -> Bitmap:
    half = (p.width + p.stem) / 2
    depth = max(3, p.height * 6 // 10)
    stroke = p.lean_within(0, 0, half, depth).mirrored(round(half))
    return p.left() | p.right() | stroke | stroke.mirrored(p.width)


def _n(p: Pen) -> Bitmap:
    return p.left() | p.right() | p.lean_within(0, 0, p.width, p.height).mirrored(p.width)


def _q(p: Pen) -> Bitmap:
    start = p.height - max(2, p.height // 3)
    return p.bowl(0, p.height) | slant(p.width // 2, start, p.width - p.stem, p.height, p.stem, p.height)


def _r(p: Pen) -> Bitmap:
    end = p.height // 2 + p.bar
    inner = p.stem + max(1, (p.width - 2 * p.stem) // 3)
    leg = p.lean_within(0, end - 1, p.width - inner, p.height).mirrored(p.width)
    return p.left() | p.bowl(0, end, "bd") | leg


def _s(p: Pen) -> Bitmap:
    mid, end = p.middle, p.bar + p.height // 9
    upper = p.bowl(0, mid + p.bar, "abc") - p.block(p.width / 2, end, p.width, mid)
    lower = p.bowl(mid, p.height, "bcd") - p.block(0, mid + p.bar, p.width / 2, p.height - end)
    bend = p.solid(0, mid + p.bar, "c") & p.solid(mid, p.height, "b")
    return ((upper | lower) - p.across(mid)) | bend


def _v(p: Pen) -> Bitmap:
    half = (p.width - p.stem) // 2
    stroke = p.lean_within(half, 0, p.width, p.height)
    return stroke | stroke.mirrored(p.width)


def _x(p: Pen) -> Bitmap:
    stroke = p.lean_within(0, 0, p.width, p.height)
    return stroke | stroke.mirrored(p.width)


def _y(p: Pen) -> Bitmap:
    fork = p.height // 2 + p.bar // 2
    stem = (p.width - p.stem) // 2
    stroke = p.lean_within(stem, 0, p.width, fork)
    return stroke | stroke.mirrored(p.width) | p.upright(stem, fork - 1)


def _ae(p: Pen) -> Bitmap:
    half = (p.width + p.stem) // 2
    left = Pen(half, p.height, p.stem, p.bar)
    right = Pen(p.width - half + p.stem, p.height, p.stem, p.bar)
    return left.bowl(0, p.height + 2 * p.bar, "a") | left.across(p.middle) | _e(right).shifted(half - p.stem)


def _oe(p: Pen) -> Bitmap:
    half = (p.width + p.stem) // 2
    left = Pen(half, p.height, p.stem, p.bar)
    right = Pen(p.width - half + p.stem, p.height, p.stem, p.bar)
    return left.bowl(0, p.height, "ac") | _e(right).shifted(half - p.stem)


_LETTERS: dict[str, Draw] = {
    "A": _a,
    "B": lambda p: p.bowl(0, p.middle + p.bar, "bd") | p.bowl(p.middle, p.height, "bd"),
    "C": _c,
    "D": lambda p: p.bowl(0, p.height, "bd"),
    "E": _e,
    "F": _f,
    "G": _g,
    "H": lambda p: p.left() | p.right() | p.across(p.middle),
    "I": lambda p: p.left(),
    "J": _j,
    "K": _k,
    "L": lambda p: p.left() | p.bottom(),
    "M": _m,
    "N": _n,
    "O": lambda p: p.bowl(0, p.height),
    "P": lambda p: p.left() | p.bowl(0, p.height * 11 // 20 + p.bar // 2 + 1, "bd"),
    "Q": _q,
    "R": _r,
    "S": _s,
    "T": lambda p: p.top() | p.upright((p.width - p.stem) // 2),
    "U": lambda p: p.bowl(-p.height, p.height, "cd"),
    "V": _v,
    "W": lambda p: _m(p).flipped(),
    "X": _x,
    "Y": _y,
    "Z": lambda p: p.top() | p.bottom() | p.lean_within(0, 0, p.width, p.height),
    "Æ": _ae,
    "Œ": _oe,
    "Ø": lambda p: p.bowl(0, p.height) | p.lean_within(0, 0, p.width, p.height),
    "Ð": lambda p: p.bowl(0, p.height, "bd") | p.across(p.middle, 0, p.width * 6 // 10),
    "Þ": lambda p: p.left() | p.bowl(p.height // 5, p.height - p.height // 5, "bd"),
}


def _stop(p: Pen) -> Bitmap:
    return p.upright(0, p.height - p.bar)


def _comma(p: Pen) -> Bitmap:
    tail = slant(p.stem // 2, p.height - p.bar, 0, p.height + p.bar // 2, p.stem // 2, p.height)
    return p.upright(0, p.height - 2 * p.bar, p.height - p.bar) | tail


def _colons(p: Pen) -> Bitmap:
    return p.upright(0, p.height // 3 - p.bar // 2, p.height // 3 - p.bar // 2 + p.bar) | _stop(p)


def _semicolon(p: Pen) -> Bitmap:
    return p.upright(0, p.height // 4 - p.bar // 2, p.height // 4 - p.bar // 2 + p.bar) | _comma(p)


def _question(p: Pen) -> Bitmap:
    mid = p.height // 2
    end = p.bar + max(1, p.height // 9)
    arc = p.bowl(0, mid + (p.bar + 1) // 2, "abd") - p.block(0, end, (p.width - p.stem) // 2, p.height)
    x = (p.width - p.stem) // 2
    return arc | p.upright(x, mid - p.bar // 2, p.height - 2 * p.bar) | p.upright(x, p.height - p.bar)


def _plus(p: Pen) -> Bitmap:
    reach = max(2, p.width // 4)
    return p.across(p.middle) | p.upright(
        (p.width - p.stem) // 2, p.middle + (p.bar + 1) // 2 - reach, p.middle + p.bar // 2 + reach
    )


def _open(p: Pen) -> Bitmap:
    return p.bowl(0, p.height, "ac", 0, 2 * p.width) & p.block(0, 0, p.width, p.height)


def _quote(p: Pen) -> Bitmap:
    end = max(2, p.height // 3)
    return p.left(0, end) | p.right(0, end)


_SIGNS: dict[str, Draw] = {
    ".": _stop,
    ",": _comma,
    ":": _colons,
    ";": _semicolon,
    "'": lambda p: p.upright(0, 0, max(2, p.height // 3)),
    '"': _quote,
    "!": lambda p: p.left(0, p.height - p.bar - max(1, p.bar)) | _stop(p),
    "?": _question,
    "-": lambda p: p.across(p.middle),
    "·": lambda p: p.upright(0, p.middle, p.middle + p.bar),
    "+": _plus,
    "/": lambda p: p.lean_within(0, 0, p.width, p.height),
    "(": _open,
    ")": lambda p: _open(p).mirrored(p.width),
}
DRAWN: dict[str, Draw] = {**_LETTERS, **DIGITS, **_SIGNS}


def _acute(p: Pen) -> Bitmap:
    x = (p.width - p.stem) / 2
    return slant(x + p.stem / 2, 0, x - p.stem / 4, p.height, p.stem, p.height)


def _circumflex(p: Pen) -> Bitmap:
    middle = (p.width - p.stem) / 2
    side = slant(middle, 0, middle - p.stem, p.height, p.stem, p.height)
    return side | side.mirrored(p.width)


def _tilde(p: Pen) -> Bitmap:
    low = p.height - p.bar
    return p.block(0, low, p.stem, p.height) | p.block(p.stem // 2, 0, p.width, p.bar)


def _ring(p: Pen) -> Bitmap:
    middle = p.width / 2
    hole = p.block(middle - p.bar / 2, p.height // 3, middle + p.bar / 2, p.height - 1)
    return p.block(middle - p.stem / 2 - p.bar, 0, middle + p.stem / 2 + p.bar, p.height) - hole


_ABOVE: dict[str, Draw] = {
    "\u0300": lambda p: _acute(p).mirrored(p.width),
    "\u0301": _acute,
    "\u0302": _circumflex,
    "\u0303": _tilde,
    "\u0308": lambda p: p.left() | p.right(),
    "\u030a": _ring,
}
_BELOW: dict[str, Draw] = {"\u0327": _acute}
_SAME = str.maketrans({"’": "'", "‘": "'", "“": '"', "”": '"', "–": "-", "—": "-", "−": "-", "…": "..."})


@dataclass(frozen=True, slots=True)
class Letter:
    """A capital letter, digit, sign or space, with the marks above and below it."""

    base: str
    above: str = ""
    below: str = ""


@lru_cache(maxsize=1024)
def letters(text: str) -> tuple[Letter, ...] | None:
    """Return the text as capitals and marks; None where something in it has no shape here."""
    found: list[Letter] = []
    for character in normalize("NFD", text.translate(_SAME).upper()):
        if character in DRAWN or character == " ":
            found.append(Letter(character))
        elif found and character in _ABOVE and not found[-1].above:
            found[-1] = replace(found[-1], above=character)
        elif found and character in _BELOW and not found[-1].below:
            found[-1] = replace(found[-1], below=character)
        else:
            return None
    return tuple(found)


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

    def columns(self, line: tuple[Letter, ...]) -> int:
        """Return the columns a line takes."""
        dots = sum(self.width(letter.base) for letter in line) + self.gap * (len(line) - 1)
        return (dots + 1) // 2

    def marks(self, line: tuple[Letter, ...]) -> tuple[int, int]:
        """Return the units a line needs above and below its letters."""
        above = self.mark if any(letter.above for letter in line) else 0
        below = self.mark if any(letter.below for letter in line) else 0
        return above, below

    def rows(self, line: tuple[Letter, ...]) -> int:
        """Return the rows a line takes."""
        return (self.height + sum(self.marks(line))) // 2

    def draw(self, line: tuple[Letter, ...]) -> Bitmap:
        """Draw a line."""
        above, below = self.marks(line)
        return side_by_side([_drawn(letter, self, above, below) for letter in line], self.gap)


@lru_cache(maxsize=512)
def _drawn(letter: Letter, cut: Cut, above: int, below: int) -> Bitmap:
    """Draw one letter with its marks, in a field that has room for marks where the line has some."""
    if letter.base == " ":
        return empty(cut.space, above + cut.height + below)
    pen = cut.pen(letter.base)
    shape = DRAWN[letter.base](pen).raised(above, below)
    mark = Pen(pen.width, cut.mark - max(1, cut.bar // 2), cut.stem, cut.bar)
    rest = above + cut.height + below - mark.height
    if letter.above:
        shape |= _ABOVE[letter.above](mark).raised(0, rest)
    if letter.below:
        shape |= _BELOW[letter.below](mark).raised(rest, 0)
    return shape.within(pen.width)


@lru_cache(maxsize=64)
def cuts(rows: int) -> tuple[Cut, ...]:
    """Return the sizes of letters of so many rows, from wide and airy to narrow and tight."""
    height = 2 * rows
    bar = max(1, round(height / 6))
    stem = 2 * bar
    widest, least = round(0.32 * height) * 2, max(1, round(0.17 * height)) * 2
    airy = [Cut(height, bar, stem, counter, gap=stem) for counter in range(widest, least - 1, -2)]
    return (*airy, Cut(height, bar, stem, least, gap=bar))
