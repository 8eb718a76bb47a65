"""Capital letters, figures and signs of our own, drawn by rule for the large words on screen.

Everything is set in capitals: in the same rows a capital is half as high again as a small letter, and height
decides what can be read from afar. Counters are open, strokes even, and no two glyphs but O and 0 are alike.
"""

from collections.abc import Callable

from holdtimer.screens.bitmap import Bitmap, slant
from holdtimer.screens.glyphs import DIGITS
from holdtimer.screens.pen import Pen


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


def _colon(p: Pen) -> Bitmap:
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
    ".": _stop, ",": _comma, ":": _colon, ";": _semicolon, "'": _apostrophe, '"': _quote, "!": _exclamation,
    "?": _question, "-": _dash, "·": _dot, "+": _plus, "/": _slash, "(": _open, ")": _close,
}  # fmt: skip
DRAWN: dict[str, Draw] = {**_LETTERS, **DIGITS, **_SIGNS}
