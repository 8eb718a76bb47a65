"""Digits of our own, drawn by rule, not scaled from a small picture, so that every size is well formed.

Their shapes are kept apart for poor sight: 1 has a flag and a foot, 6 and 9 reach over with an open end, 3 is
open to the left down to its middle bar, 4 is closed and pointed, 7 leans.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from holdtimer.screens.bitmap import WHOLE_CELLS, Bitmap, slant
from holdtimer.screens.pen import Pen

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
