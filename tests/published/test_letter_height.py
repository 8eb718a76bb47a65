"""How large the digits must be for poor sight at a distance.

Letter height h = 2 d tan(a / 2) for a visual angle a: NUREG-0700 rev. 2, 1.3 (character height), and
ISO 9241-303. A letter at the threshold of 20/80 sight is 20 minutes of arc high; fluent reading takes two
to three times the threshold (from memory; Whittaker and Lovie-Kitchin 1993). A 15.6-inch 16:9 screen is
194.3 mm high.
"""

from math import hypot, radians, tan

import pytest

from holdtimer.screens.glyphs import digits

SCREEN_MM = 15.6 * 25.4 * 9 / hypot(16, 9)


def letter_height_mm(distance_m, minutes):
    return 2 * distance_m * 1000 * tan(radians(minutes / 60) / 2)


@pytest.mark.parametrize(
    ("distance_m", "minutes", "expected"),
    [
        (0.6, 16, 2.79),
        (1, 22, 6.40),
        (2, 20, 11.64),
        (3, 16, 13.96),
        (3, 20, 17.45),
        (3, 40, 34.91),
        (3, 60, 52.36),
    ],
)
def test_letter_height_from_visual_angle(distance_m, minutes, expected):
    assert letter_height_mm(distance_m, minutes) == pytest.approx(expected, abs=0.01)


def test_the_screen_is_as_high_as_its_diagonal_says():
    assert pytest.approx(194.3, abs=0.1) == SCREEN_MM


@pytest.mark.parametrize(("columns", "rows", "given"), [(80, 24, 11), (120, 40, 22), (200, 60, 36)])
@pytest.mark.parametrize("text", ["69", "1:40"])
def test_digits_can_be_read_from_three_metres_with_20_80_sight_and_threefold_reserve(
    columns, rows, given, text
):
    """`given` is what the window screen leaves for the digits beside its ruler and its words."""
    drawn = digits(text, columns - 2, given)
    height_mm = len(drawn) * SCREEN_MM / rows
    assert height_mm >= letter_height_mm(3, 60)
