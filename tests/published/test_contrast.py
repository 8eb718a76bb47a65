"""WCAG 2.2, relative luminance and contrast ratio; check values computed from its definition by hand."""

import pytest

from holdtimer.screens.themes import THEMES, contrast, luminance, pairs
from tests.tables import every

BLACK, WHITE = "#000000", "#ffffff"


@every(
    ("colour", "expected", "on_black", "on_white"),
    [
        ("#ffffff", 1.0, 21.0, 1.0),
        ("#767676", 0.1812, 4.62, 4.54),
        ("#777777", 0.1845, 4.69, 4.48),
        ("#ff0000", 0.2126, 5.25, 4.00),
        ("#00ff00", 0.7152, 15.30, 1.37),
        ("#0000ff", 0.0722, 2.44, 8.59),
        ("#ffff00", 0.9278, 19.56, 1.07),
        ("#cd0000", 0.1298, 3.60, 5.84),
        ("#800000", 0.0459, 1.92, 10.95),
        ("#0000ee", 0.0617, 2.23, 9.40),
    ],
)
def test_luminance_and_contrast_follow_wcag(colour, expected, on_black, on_white):
    assert luminance(colour) == pytest.approx(expected, abs=1e-4)
    assert contrast(colour, BLACK) == pytest.approx(on_black, abs=0.01)
    assert contrast(WHITE, colour) == pytest.approx(on_white, abs=0.01)


@every("writing", ["red", "#fff", "ffffff0", "#gg0000"])
def test_only_full_hex_colours_are_measured(writing):
    with pytest.raises(ValueError, match=r"."):
        luminance(writing)


@every("theme", THEMES, ids=lambda theme: theme.name)
def test_every_text_of_a_theme_has_the_highest_level_of_contrast(theme):
    """WCAG 2.2, 1.4.6 Contrast (Enhanced), level AAA: 7:1 for text."""
    for name, (ink, field) in pairs(theme).items():
        assert contrast(ink, field) >= 7, name


@every("theme", THEMES, ids=lambda theme: theme.name)
def test_in_work_and_out_of_work_differ_in_lightness_not_only_in_hue(theme):
    """WCAG 2.2, 1.4.1 Use of Colour (from memory): the fields must be told apart without hue."""
    assert contrast(theme.variables["field"], theme.variables["work-field"]) >= 7
