"""What some terminals can't show, and what stands in its place.

In work and out of work are a light and a dark field. A terminal of 16 colours or fewer may not know a light
background, and who sets NO_COLOR wants no colours: both get reverse video for the light field, and no more.
The fonts of the Linux console have hardly more than whole blocks and thin lines.
"""

from functools import lru_cache
from typing import ClassVar

from rich.color import Color as RichColor
from rich.console import Console
from rich.segment import Segment
from rich.style import Style
from textual.color import Color
from textual.filter import LineFilter

from holdtimer.screens.bitmap import WHOLE_CELLS

MANY_COLOURS = frozenset({"256", "truecolor"})


class ReverseVideo(LineFilter):
    """Shows a light field in reverse video, a dark one plain, both in the terminal's own two colours."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:  # noqa: ARG002
        """Return the segments without their colours."""
        return [Segment(text, style and _reversed(style), control) for text, style, control in segments]


class FewGlyphs(LineFilter):
    """Puts a sign that every console has in place of each that some have not."""

    INSTEAD: ClassVar = str.maketrans("▛▜▙▟▌▐▀▄▁━┣┫┏┓┗┛┃▽△▶▔", "██████==_=[]┌┐└┘│v^>‾")

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:  # noqa: ARG002
        """Return the segments in signs that are there."""
        return [Segment(text.translate(self.INSTEAD), style, control) for text, style, control in segments]


def filters_for(console: Console, *, wants_colour: bool) -> tuple[LineFilter, ...]:
    """Return what makes our screens fit the terminal behind a console."""
    has_colour = wants_colour and console.color_system in MANY_COLOURS
    colours = () if has_colour else (ReverseVideo(),)
    return (*colours, *((FewGlyphs(),) if WHOLE_CELLS else ()))


@lru_cache(maxsize=256)
def _reversed(style: Style) -> Style:
    """Return a style without colours, in reverse where its field is lighter than its ink."""
    ink, field = _brightness(style.color, 0.5), _brightness(style.bgcolor, 0.0)
    ink, field = (field, ink) if style.reverse else (ink, field)
    return style.without_color + Style(reverse=field > ink)


def _brightness(colour: RichColor | None, otherwise: float) -> float:
    return otherwise if colour is None or colour.is_default else Color.from_rich_color(colour).brightness
