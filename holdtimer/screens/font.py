"""Digits, capital letters and signs of our own, drawn by rule, so that every size is well formed."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from holdtimer.screens.bitmap import WHOLE_CELLS, Bitmap, Pen, slant

DigitStyle = Literal["solid", "hollow"]


def _zero(p: Pen) -> Bitmap:
    return p.bowl(0, p.height)


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


def _seven(p: Pen) -> Bitmap:
    return p.top() | p.lean_within(p.width // 5, p.bar, p.width, p.height)


def _eight(p: Pen) -> Bitmap:
    mid = p.middle
    inset = 2 * (p.height // 20)
    return p.bowl(0, mid + p.bar, "abcd", inset, p.width - inset) | p.bowl(mid, p.height)


def _nine(p: Pen) -> Bitmap:
    return _six(p).turned()


DIGITS: dict[str, Callable[[Pen], Bitmap]] = {
    "0": _zero, "1": _one, "2": _two, "3": _three, "4": _four,
    "5": _five, "6": _six, "7": _seven, "8": _eight, "9": _nine,
}  # fmt: skip


def _colon(p: Pen) -> Bitmap:
    size = p.bar + max(0, p.bar // 4)
    first, second = p.height // 4, p.height - p.height // 4 - size
    return p.block(0, first, p.stem, first + size) | p.block(0, second, p.stem, second + size)


_GLYPHS = {**DIGITS, ":": _colon, " ": Pen.nothing}


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
    shape = _GLYPHS[character](pen)
    if style == "hollow" and size.bar > 2 and not WHOLE_CELLS:
        shape = shape.outline(round(size.bar / 3))
    return tuple(shape.within(pen.width).blocks())


def digits(text: str, columns: int, rows: int, style: DigitStyle = "solid", widest: str = "") -> list[str]:
    """Draw `text` as large as it fits, or as `widest` would fit; as one plain row where nothing fits.

    ValueError for anything but digits, ":" and spaces.
    """
    if odd := set(text) - set(_GLYPHS):
        raise ValueError(f"no large glyph for {''.join(sorted(odd))!r}")
    size = digit_size(widest or text, columns, rows)
    if size is None or size.width(text) > columns:
        return [text]
    glyphs = [digit_glyph(character, size, style) for character in text]
    return [(" " * size.gap).join(row) for row in zip(*glyphs, strict=True)]


def _a(p: Pen) -> Bitmap:
    if p.width < 5 * p.stem:  # leaning legs would close the inside
        return p.bowl(0, p.height + 2 * p.bar, "ab") | p.across(p.height * 11 // 20)
    half = (p.width - p.stem) / 2
    leg = p.lean_within(0, 0, half + p.stem, p.height)
    bar_top = p.height * 6 // 10
    inset = round((p.height - bar_top) / p.height * half)
    return leg | leg.mirrored(p.width) | p.across(bar_top, inset, p.width - inset)


def _b(p: Pen) -> Bitmap:
    return p.bowl(0, p.middle + p.bar, "bd") | p.bowl(p.middle, p.height, "bd")


def _c(p: Pen) -> Bitmap:
    end = p.bar + max(1, p.height // 7)
    return p.bowl(0, p.height) - p.block(p.width / 2, end, p.width, p.height - end)


def _d(p: Pen) -> Bitmap:
    return p.bowl(0, p.height, "bd")


def _e(p: Pen) -> Bitmap:
    return p.left() | p.top() | p.bottom() | p.across(p.middle, 0, p.width - max(1, p.stem // 2))


def _f(p: Pen) -> Bitmap:
    return p.left() | p.top() | p.across(p.middle, 0, p.width - max(1, p.stem // 2))


def _g(p: Pen) -> Bitmap:
    spur = p.height // 2
    end = min(p.bar + max(1, p.height // 7), spur - 1)
    open_side = p.block(p.width / 2, end, p.width, spur)
    return p.bowl(0, p.height, "abc") - open_side | p.across(spur, p.width // 2)


def _h(p: Pen) -> Bitmap:
    return p.left() | p.right() | p.across(p.middle)


def _i(p: Pen) -> Bitmap:
    return p.left()


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


def _l(p: Pen) -> Bitmap:
    return p.left() | p.bottom()


def _m(p: Pen) -> Bitmap:
    half = (p.width + p.stem) / 2
    depth = max(3, p.height * 6 // 10)
    stroke = p.lean_within(0, 0, half, depth).mirrored(round(half))
    return p.left() | p.right() | stroke | stroke.mirrored(p.width)


def _n(p: Pen) -> Bitmap:
    return p.left() | p.right() | p.lean_within(0, 0, p.width, p.height).mirrored(p.width)


def _o(p: Pen) -> Bitmap:
    return p.bowl(0, p.height)


def _p(p: Pen) -> Bitmap:
    return p.left() | p.bowl(0, p.height * 11 // 20 + p.bar // 2 + 1, "bd")


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


def _t(p: Pen) -> Bitmap:
    return p.top() | p.upright((p.width - p.stem) // 2)


def _u(p: Pen) -> Bitmap:
    return p.bowl(-p.height, p.height, "cd")


def _v(p: Pen) -> Bitmap:
    half = (p.width - p.stem) // 2
    stroke = p.lean_within(half, 0, p.width, p.height)
    return stroke | stroke.mirrored(p.width)


def _w(p: Pen) -> Bitmap:
    return _m(p).flipped()


def _x(p: Pen) -> Bitmap:
    stroke = p.lean_within(0, 0, p.width, p.height)
    return stroke | stroke.mirrored(p.width)


def _y(p: Pen) -> Bitmap:
    fork = p.height // 2 + p.bar // 2
    stem = (p.width - p.stem) // 2
    stroke = p.lean_within(stem, 0, p.width, fork)
    return stroke | stroke.mirrored(p.width) | p.upright(stem, fork - 1)


def _z(p: Pen) -> Bitmap:
    return p.top() | p.bottom() | p.lean_within(0, 0, p.width, p.height)


def _stop(p: Pen) -> Bitmap:
    return p.upright(0, p.height - p.bar)


def _comma(p: Pen) -> Bitmap:
    tail = slant(p.stem // 2, p.height - p.bar, 0, p.height + p.bar // 2, p.stem // 2, p.height)
    return p.upright(0, p.height - 2 * p.bar, p.height - p.bar) | tail


def _colons(p: Pen) -> Bitmap:
    return p.upright(0, p.height // 3 - p.bar // 2, p.height // 3 - p.bar // 2 + p.bar) | _stop(p)


def _semicolon(p: Pen) -> Bitmap:
    return p.upright(0, p.height // 4 - p.bar // 2, p.height // 4 - p.bar // 2 + p.bar) | _comma(p)


def _apostrophe(p: Pen) -> Bitmap:
    return p.upright(0, 0, max(2, p.height // 3))


def _exclamation(p: Pen) -> Bitmap:
    return p.left(0, p.height - p.bar - max(1, p.bar)) | _stop(p)


def _question(p: Pen) -> Bitmap:
    mid = p.height // 2
    end = p.bar + max(1, p.height // 9)
    arc = p.bowl(0, mid + (p.bar + 1) // 2, "abd") - p.block(0, end, (p.width - p.stem) // 2, p.height)
    x = (p.width - p.stem) // 2
    return arc | p.upright(x, mid - p.bar // 2, p.height - 2 * p.bar) | p.upright(x, p.height - p.bar)


def _dash(p: Pen) -> Bitmap:
    return p.across(p.middle)


def _dot(p: Pen) -> Bitmap:
    return p.upright(0, p.middle, p.middle + p.bar)


def _plus(p: Pen) -> Bitmap:
    reach = max(2, p.width // 4)
    return _dash(p) | p.upright(
        (p.width - p.stem) // 2, p.middle + (p.bar + 1) // 2 - reach, p.middle + p.bar // 2 + reach
    )


def _slash(p: Pen) -> Bitmap:
    return p.lean_within(0, 0, p.width, p.height)


def _open(p: Pen) -> Bitmap:
    return p.bowl(0, p.height, "ac", 0, 2 * p.width) & p.block(0, 0, p.width, p.height)


def _close(p: Pen) -> Bitmap:
    return _open(p).mirrored(p.width)


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


def _o_slash(p: Pen) -> Bitmap:
    return _o(p) | p.lean_within(0, 0, p.width, p.height)


def _eth(p: Pen) -> Bitmap:
    return _d(p) | p.across(p.middle, 0, p.width * 6 // 10)


def _thorn(p: Pen) -> Bitmap:
    return p.left() | p.bowl(p.height // 5, p.height - p.height // 5, "bd")


def _quote(p: Pen) -> Bitmap:
    end = max(2, p.height // 3)
    return p.left(0, end) | p.right(0, end)


Draw = Callable[[Pen], Bitmap]
_LETTERS: dict[str, Draw] = {
    "A": _a, "B": _b, "C": _c, "D": _d, "E": _e, "F": _f, "G": _g, "H": _h, "I": _i, "J": _j, "K": _k,
    "L": _l, "M": _m, "N": _n, "O": _o, "P": _p, "Q": _q, "R": _r, "S": _s, "T": _t, "U": _u, "V": _v,
    "W": _w, "X": _x, "Y": _y, "Z": _z, "Æ": _ae, "Œ": _oe, "Ø": _o_slash, "Ð": _eth, "Þ": _thorn,
}  # fmt: skip
_SIGNS: dict[str, Draw] = {
    ".": _stop, ",": _comma, ":": _colons, ";": _semicolon, "'": _apostrophe, '"': _quote, "!": _exclamation,
    "?": _question, "-": _dash, "·": _dot, "+": _plus, "/": _slash, "(": _open, ")": _close,
}  # fmt: skip
DRAWN: dict[str, Draw] = {**_LETTERS, **DIGITS, **_SIGNS}
