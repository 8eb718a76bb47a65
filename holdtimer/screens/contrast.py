"""Contrast of two colours as WCAG 2.2 defines it (relative luminance and contrast ratio)."""


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
