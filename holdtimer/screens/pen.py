"""The pen that draws digits and letters: stems, bars, bowls and slants of one thickness, at any size."""

from dataclasses import dataclass
from math import sqrt

from holdtimer.screens.bitmap import Bitmap, box, empty, slant


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
        """Draw a stem with its left edge at x, the whole height unless told."""
        return self.block(x, y0, x + self.stem, self.height if y1 is None else y1)

    def left(self, y0: int = 0, y1: int | None = None) -> Bitmap:
        """Draw the stem at the left edge."""
        return self.upright(0, y0, y1)

    def right(self, y0: int = 0, y1: int | None = None) -> Bitmap:
        """Draw the stem at the right edge."""
        return self.upright(self.width - self.stem, y0, y1)

    def across(self, y: int, x0: float = 0, x1: float | None = None) -> Bitmap:
        """Draw a bar with its top at y, the whole width unless told."""
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
