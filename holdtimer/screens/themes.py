"""Our themes: in work the screen is a filled field, out of work an empty one; hue says nothing.

Every theme has the same few inks: `field`, `ink` and `quiet` out of work, `work-field`, `work-ink` and
`work-quiet` in work. A screen puts the class `-in-work` on itself; all inside takes its colours from there.
"""

from typing import Any

from textual.app import App
from textual.theme import Theme

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


def pairs(theme: Theme) -> dict[str, tuple[str, str]]:
    """Return every pair of ink and field that a theme of ours puts on screen, by name."""
    inks = theme.variables
    return {
        **{ink: (inks[ink], inks["field"]) for ink in ("ink", "quiet")},
        **{ink: (inks[ink], inks["work-field"]) for ink in ("work-ink", "work-quiet")},
        "accent": (theme.primary, inks["field"]),
    }


def wear(app: App[Any], name: str = EVENING.name) -> None:
    """Register our themes with an app and put one on; to be called before its CSS is read, in `__init__`.

    Textual raises InvalidThemeError for an unknown name.
    """
    for theme in THEMES:
        app.register_theme(theme)
    app.theme = name


def luminance(colour: str) -> float:
    """Return the relative luminance, 0 to 1, of a colour `#rrggbb`; ValueError for any other writing."""
    if len(colour) != 7 or colour[0] != "#":
        raise ValueError(f"not a colour like #rrggbb: {colour!r}")
    red, green, blue = (_linear(int(colour[at : at + 2], 16) / 255) for at in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(value: float) -> float:
    return value / 12.92 if value <= 0.03928 else ((value + 0.055) / 1.055) ** 2.4


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21, whichever is the lighter."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)
