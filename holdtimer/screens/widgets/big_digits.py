"""The clock: seconds in digits as large as the room allows."""

from typing import Any

from textual.geometry import Region
from textual.reactive import reactive

from holdtimer.screens.glyphs import DigitStyle, digit_size, digits
from holdtimer.screens.widgets.painted import Painted


class BigDigits(Painted):
    """A number of seconds or m:ss, solid in work and hollow out of work, in the middle of its room.

    Only the glyphs that changed are drawn again. Short texts are filled up with blanks at the left to `least`
    characters, so that the digits keep their place from 9 to 10; they keep their size where `widest` tells
    the widest text to come.
    """

    DEFAULT_CSS = """
    BigDigits { width: 1fr; height: 1fr; }
    """

    text: reactive[str] = reactive("", repaint=False)
    look: reactive[DigitStyle] = reactive("solid", repaint=False)
    widest: reactive[str] = reactive("", repaint=False)

    def __init__(self, text: str = "", look: DigitStyle = "solid", *, least: int = 2, **named: Any) -> None:
        super().__init__(**named)
        self._least = least
        self.set_reactive(BigDigits.text, text)
        self.set_reactive(BigDigits.look, look)

    def paint(self, columns: int, rows: int) -> list[str]:
        """Return the digits in the middle of so many columns and rows."""
        drawn = digits(self._shown(self.text), columns, rows, self.look, self.widest)
        above = max(0, rows - len(drawn)) // 2
        return [""] * above + [row.center(columns) for row in drawn]

    def watch_look(self) -> None:
        """Draw the other style."""
        self.repaint()

    def watch_widest(self) -> None:
        """Draw in the other size."""
        self.repaint()

    def watch_text(self, before: str, now: str) -> None:
        """Draw again what changed."""
        self._painted = None
        self.refresh(*self.changed(self._shown(before), self._shown(now)))

    def changed(self, before: str, now: str) -> list[Region]:
        """Return the regions of the glyphs that differ; none stands for the whole widget."""
        width, height = self.content_size
        size = digit_size(self.widest or _pattern(now), width, height)
        if size is None or _pattern(before) != _pattern(now):
            return []
        x = self.gutter.left + (width - size.width(now)) // 2
        regions = []
        for was, glyph in zip(before, now, strict=True):
            if was != glyph:
                regions.append(Region(x, self.gutter.top, size.columns(glyph), height))
            x += size.columns(glyph) + size.gap
        return regions

    def _shown(self, text: str) -> str:
        return text.rjust(self._least)


def _pattern(text: str) -> str:
    """Return which characters are digits: what decides the size and the places."""
    return "".join("0" if character.isdigit() or character == " " else character for character in text)
