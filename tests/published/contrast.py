"""The contrast of two colours by WCAG 2.2, and the pairs of colours our themes put on screen."""

from textual.theme import Theme


def pairs(theme: Theme) -> dict[str, tuple[str, str]]:
    """Return every pair of ink and field that a theme of ours puts on screen, by name."""
    inks = theme.variables
    return {
        **{ink: (inks[ink], inks["field"]) for ink in ("ink", "quiet")},
        **{ink: (inks[ink], inks["work-field"]) for ink in ("work-ink", "work-quiet")},
        "accent": (theme.primary, inks["field"]),
    }


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
