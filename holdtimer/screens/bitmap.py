"""Shapes on a grid of dots, drawn in a terminal with quadrant blocks (U+2580-259F): 2 x 2 dots a cell.

A cell is about twice as high as wide, so a dot is half a unit wide and one unit high. In what follows
x counts dots and y counts units; a shape 2 n dots wide and n units high looks square.
"""

import os
from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce
from math import sqrt

# which quarters of a cell are filled: 1 top left, 2 top right, 4 bottom left, 8 bottom right
BLOCKS = " ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█"
WHOLE_CELLS = os.environ.get("TERM") == "linux"  # fonts of the Linux console have no parts of a block
# a bar that begins midway in a cell must there neither be lost nor doubled: its lower half fills the cell
WHOLE = "".join("█" if at.bit_count() > 2 or at & 3 == 3 else " " for at in range(16))
SHOWN = WHOLE if WHOLE_CELLS else BLOCKS
# two cells at a time, by four dots of their upper unit and four of their lower one: half as many look-ups
PAIRS = tuple(
    SHOWN[at & 3 | (at >> 4 & 3) << 2] + SHOWN[at >> 2 & 3 | (at >> 6 & 3) << 2] for at in range(256)
)


@dataclass(frozen=True, slots=True)
class Bitmap:
    """Rows of dots; bit x of a row is the dot x from the left."""

    width: int
    rows: tuple[int, ...]

    @property
    def height(self) -> int:
        """How many units high."""
        return len(self.rows)

    def __or__(self, other: "Bitmap") -> "Bitmap":
        pairs = zip(self.rows, other.rows, strict=True)
        return Bitmap(max(self.width, other.width), tuple(a | b for a, b in pairs))

    def __sub__(self, other: "Bitmap") -> "Bitmap":
        return Bitmap(self.width, tuple(a & ~b for a, b in zip(self.rows, other.rows, strict=True)))

    def __and__(self, other: "Bitmap") -> "Bitmap":
        return Bitmap(self.width, tuple(a & b for a, b in zip(self.rows, other.rows, strict=True)))

    def mirrored(self, width: int) -> "Bitmap":
        """Return the shape as seen in a mirror: its left edge comes to stand at `width`."""
        rows = (int(f"{row:0{width}b}"[::-1], 2) for row in self.rows)
        return Bitmap(width, tuple(rows))

    def flipped(self) -> "Bitmap":
        """Return the shape upside down."""
        return Bitmap(self.width, self.rows[::-1])

    def turned(self) -> "Bitmap":
        """Return the shape turned by half a turn."""
        return self.mirrored(self.width).flipped()

    def within(self, width: int) -> "Bitmap":
        """Return the shape in a field of that width, what lies outside cut off."""
        return Bitmap(width, tuple(row & (1 << width) - 1 for row in self.rows))

    def shifted(self, dots: int) -> "Bitmap":
        """Return the shape moved to the right."""
        return Bitmap(self.width + dots, tuple(row << dots for row in self.rows))

    def raised(self, above: int, below: int) -> "Bitmap":
        """Return the shape with empty units above and below it."""
        return Bitmap(self.width, (0,) * above + self.rows + (0,) * below)

    def outline(self, pen: int) -> "Bitmap":
        """Return only the rim of the shape, `pen` units thick all round."""
        return self - self._shrunk(pen)

    def _shrunk(self, pen: int) -> "Bitmap":
        """Return what is left when a round brush of that radius eats the rim."""
        rows = (0,) * pen + self.rows + (0,) * pen
        reach = [round(2 * sqrt(pen * pen - dy * dy)) for dy in range(-pen, pen + 1)]
        kept = (
            reduce(int.__and__, (_narrowed(rows[y + dy], reach[dy]) for dy in range(2 * pen + 1)))
            for y in range(self.height)
        )
        return Bitmap(self.width, tuple(kept))

    def blocks(self) -> list[str]:
        """Return the shape in block characters, a string a row; an odd last unit fills half a row."""
        rows = (*self.rows, 0) if self.height % 2 else self.rows
        columns, pairs = (self.width + 1) // 2, range(0, self.width, 4)
        return [
            "".join([PAIRS[(top >> x & 15) | (bottom >> x & 15) << 4] for x in pairs])[:columns]
            for top, bottom in zip(rows[::2], rows[1::2], strict=True)
        ]


def _narrowed(row: int, reach: int) -> int:
    """Return the dots of a row that have `reach` filled dots on both sides."""
    return reduce(int.__and__, (row << dx & row >> dx for dx in range(reach + 1)))


def read_blocks(rows: Sequence[str]) -> Bitmap:
    """Return the shape that rows of block characters show; ValueError for any other character."""
    width = 2 * max(map(len, rows), default=0)
    units = []
    for row in rows:
        cells = [BLOCKS.index(character) for character in row]
        units.append(sum((cell & 3) << 2 * x for x, cell in enumerate(cells)))
        units.append(sum((cell >> 2) << 2 * x for x, cell in enumerate(cells)))
    return Bitmap(width, tuple(units))


def empty(width: int, height: int) -> Bitmap:
    """Return a field without dots."""
    return Bitmap(width, (0,) * height)


def _span(left: float, right: float) -> int:
    """Return a row filled from `left` to `right`, to the nearest dot."""
    first, end = max(0, round(left)), max(0, round(right))
    return (1 << end) - (1 << first) if end > first else 0


def box(
    x0: float, y0: int, x1: float, y1: int, height: int, radius: float = 0, corners: str = "abcd"
) -> Bitmap:
    """Draw a filled box in a field of that height, some corners rounded: a b above, c d below.

    `radius` is in units; across it is twice as many dots.
    """
    radius = min(radius, (x1 - x0) / 4, (y1 - y0) / 2)
    rows = [0] * height
    for y in range(max(0, y0), min(height, y1)):
        top, bottom = _cut(y + 0.5 - y0, radius), _cut(y1 - y - 0.5, radius)
        left = max(top * ("a" in corners), bottom * ("c" in corners))
        right = max(top * ("b" in corners), bottom * ("d" in corners))
        rows[y] = _span(x0 + left, x1 - right)
    return Bitmap(max(0, round(x1)), tuple(rows))


def _cut(depth: float, radius: float) -> float:
    """Return how many dots a round corner takes from a row `depth` units from the edge."""
    if depth >= radius:
        return 0
    return 2 * (radius - sqrt(radius**2 - (radius - depth) ** 2))


def slant(x0: float, y0: int, x1: float, y1: int, thick: float, height: int) -> Bitmap:
    """Draw a leaning bar, its left edge from x0 at the height y0 to x1 at y1, `thick` dots across."""
    rows = [0] * height
    lean = (x1 - x0) / max(1, y1 - y0 - 1)
    for y in range(max(0, y0), min(height, y1)):
        left = x0 + lean * (y - y0)
        rows[y] = _span(left, left + thick)
    return Bitmap(round(max(x0, x1) + thick), tuple(rows))


def side_by_side(shapes: list[Bitmap], gap: int) -> Bitmap:
    """Set shapes of one height in a line, with `gap` dots between two."""
    x, rows = 0, [0] * shapes[0].height
    for shape in shapes:
        rows = [row | more << x for row, more in zip(rows, shape.rows, strict=True)]
        x += shape.width + gap
    return Bitmap(max(0, x - gap), tuple(rows))


@dataclass(frozen=True, slots=True)
class Pen:
    """A glyph's box and strokes: `width` and `stem` in dots, `height` and `bar` in units (see bitmap)."""

    width: int
    height: int
    stem: int
    bar: int

    @property
    def middle(self) -> int:
        """The top of a middle bar, a little above the middle so that the lower half carries the glyph."""
        return (self.height - self.bar) // 2

    @property
    def radius(self) -> float:
        """How round a bowl is, in units: round enough to be calm, square enough to stay open inside."""
        return max(1.5, min(0.30 * self.height, 0.24 * self.width))

    def nothing(self) -> Bitmap:
        """Draw nothing: an empty glyph."""
        return empty(self.width, self.height)

    def block(self, x0: float, y0: int, x1: float, y1: int) -> Bitmap:
        """Draw a plain filled box."""
        return box(x0, y0, x1, y1, self.height)

    def upright(self, x: float, y0: int = 0, y1: int | None = None) -> Bitmap:
        """Draw a stem with its left edge at x, the whole height unless y0 or y1 says less."""
        return self.block(x, y0, x + self.stem, self.height if y1 is None else y1)

    def left(self, y0: int = 0, y1: int | None = None) -> Bitmap:
        """Draw the stem at the left edge."""
        return self.upright(0, y0, y1)

    def right(self, y0: int = 0, y1: int | None = None) -> Bitmap:
        """Draw the stem at the right edge."""
        return self.upright(self.width - self.stem, y0, y1)

    def across(self, y: int, x0: float = 0, x1: float | None = None) -> Bitmap:
        """Draw a bar with its top at y, the whole width unless x0 or x1 says less."""
        return self.block(x0, y, self.width if x1 is None else x1, y + self.bar)

    def top(self) -> Bitmap:
        """Draw the bar at the top."""
        return self.across(0)

    def bottom(self) -> Bitmap:
        """Draw the bar at the bottom."""
        return self.across(self.height - self.bar)

    def solid(self, y0: int, y1: int, corners: str, x0: int = 0, x1: int | None = None) -> Bitmap:
        """Draw a filled bowl from y0 to y1, rounded at the corners named as in `bitmap.box`."""
        return box(x0, y0, self.width if x1 is None else x1, y1, self.height, self.radius, corners)

    def bowl(self, y0: int, y1: int, corners: str = "abcd", x0: int = 0, x1: int | None = None) -> Bitmap:
        """Draw a ring from y0 to y1, rounded at the corners named as in `bitmap.box`."""
        x1 = self.width if x1 is None else x1
        inner_radius = max(0.0, self.radius - self.bar)
        left, right = x0 + self.stem, x1 - self.stem
        inner = box(left, y0 + self.bar, right, y1 - self.bar, self.height, inner_radius, corners)
        return self.solid(y0, y1, corners, x0, x1) - inner

    def lean_width(self, across: float, down: int) -> float:
        """Return how many dots across a leaning stroke must be to look as thick as a stem."""
        return self.stem * min(1.8, sqrt(1 + (across / 2 / max(1, down)) ** 2))

    def lean_within(self, x0: float, y0: int, x1: float, y1: int) -> Bitmap:
        """Draw a leaning stroke that fills the box from x0 to x1, from top right to bottom left."""
        thick = self.lean_width(x1 - x0 - self.stem, y1 - y0)
        return slant(x1 - thick, y0, x0, y1, thick, self.height)
