"""Our themes, and what stands in for them on terminals that show less.

In work the screen is a filled field, out of work an empty one; hue says nothing. Every theme has the same few
inks: `field`, `ink` and `quiet` out of work, `work-field`, `work-ink` and `work-quiet` in work. A screen puts
the class `-in-work` on itself; all inside takes its colours from there.

A terminal of 16 colours or fewer may not know a light background, and who sets NO_COLOR wants no colours:
both get reverse video for the light field, and no more. The fonts of the Linux console have hardly more than
whole blocks and thin lines.
"""

from functools import lru_cache
from typing import Any, ClassVar

from rich.color import Color as RichColor
from rich.console import Console
from rich.segment import Segment
from rich.style import Style
from textual.app import App
from textual.color import Color
from textual.filter import LineFilter
from textual.theme import Theme

from holdtimer.screens.bitmap import WHOLE_CELLS
from holdtimer.text import sanitize

FIELDS_CSS = """
Screen { background: $field; color: $ink; }
Screen .quiet { color: $quiet; }
Screen.-in-work { background: $work-field; color: $work-ink; }
Screen.-in-work .quiet { color: $work-quiet; }
"""


def _theme(
    name: str, dark: bool, empty: tuple[str, str, str], filled: tuple[str, str, str], accent: str
) -> Theme:
    """Make a theme of field, ink and quiet ink, out of work and in work."""
    field, ink, quiet = empty
    inks = {"field": field, "ink": ink, "quiet": quiet}
    inks |= dict(zip(("work-field", "work-ink", "work-quiet"), filled, strict=True))
    cursor = {
        "block-cursor-foreground": field,
        "block-cursor-background": ink,
        "block-cursor-text-style": "bold",
    }
    return Theme(
        name=name,
        primary=accent,
        secondary=quiet,
        warning=accent,
        error=accent,
        success=accent,
        accent=accent,
        foreground=ink,
        background=field,
        surface=field,
        panel=field,
        dark=dark,
        text_alpha=1.0,
        variables=inks | cursor,
    )


EVENING = _theme(
    "evening", True, ("#11110e", "#f6eeda", "#bdb49f"), ("#f3e7c6", "#14120c", "#453e2e"), accent="#e8c268"
)
DAYLIGHT = _theme(
    "daylight", False, ("#fbf8f0", "#16140f", "#4b463b"), ("#17251f", "#fbf5e4", "#c4c3b2"), accent="#5c4300"
)
TWO_TONE = _theme(
    "two-tone", True, ("#000000", "#ffffff", "#ffffff"), ("#ffffff", "#000000", "#000000"), accent="#ffffff"
)
THEMES = (EVENING, DAYLIGHT, TWO_TONE)


def wear(app: App[Any], name: str = EVENING.name) -> None:
    """Register our themes with an app and put one on; to be called before its CSS is read, in `__init__`.

    Textual raises InvalidThemeError for an unknown name.
    """
    for theme in THEMES:
        app.register_theme(theme)
    app.theme = name


# -- terminals that show less --------------------------------------------------------------------------------

MANY_COLOURS = frozenset({"256", "truecolor"})


class ReverseVideo(LineFilter):
    """Shows a light field in reverse video, a dark one plain, both in the terminal's own two colours."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:  # noqa: ARG002
        """Return the segments without their colours."""
        return [Segment(text, style and _reversed(style), control) for text, style, control in segments]


class FewGlyphs(LineFilter):
    """Puts a sign that every console has in place of each that some have not."""

    # ▂▃▅▆▇ come from the scroll bar of a page
    INSTEAD: ClassVar = str.maketrans(
        "▛▜▙▟▌▐▀▄▁▂▃▅▆▇━┣┫┏┓┗┛┃╌▽△▶▔◀◁▷◂▸●○×", "██████==___███=[]┌┐└┘│-v^>‾<()<>*Ox"
    )

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:  # noqa: ARG002
        """Return the segments in signs that are there."""
        return [Segment(text.translate(self.INSTEAD), style, control) for text, style, control in segments]


class NoControls(LineFilter):
    """Lets nothing through that steers a terminal, wherever it came from."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:  # noqa: ARG002
        """Return the segments, control characters in their texts as `?`."""
        return [
            Segment(text if control else sanitize(text), style, control) for text, style, control in segments
        ]


def filters_for(console: Console, *, wants_colour: bool) -> tuple[LineFilter, ...]:
    """Return what each row goes through so that it steers nothing and fits the terminal behind a console."""
    has_colour = wants_colour and console.color_system in MANY_COLOURS
    colours = () if has_colour else (ReverseVideo(),)
    return (NoControls(), *colours, *((FewGlyphs(),) if WHOLE_CELLS else ()))


@lru_cache(maxsize=256)
def _reversed(style: Style) -> Style:
    """Return a style without colours, in reverse where its field is lighter than its ink."""
    ink, field = _brightness(style.color, 0.5), _brightness(style.bgcolor, 0.0)
    ink, field = (field, ink) if style.reverse else (ink, field)
    return style.without_color + Style(reverse=field > ink)


def _brightness(colour: RichColor | None, otherwise: float) -> float:
    return otherwise if colour is None or colour.is_default else Color.from_rich_color(colour).brightness
