"""How large the digits are for poor sight at a distance, in both layouts and three sizes of terminal.

Letter height h = 2 d tan(a / 2) for a visual angle a: NUREG-0700 rev. 2, 1.3 (character height), and
ISO 9241-303. A letter at the threshold of 20/80 sight is 20 minutes of arc high; fluent reading takes two
to three times the threshold (from memory; Whittaker and Lovie-Kitchin 1993). The least of the standards, 16
minutes for normal sight, is 64 for sight four times weaker, and their comfortable 22 minutes are 88.

The terminal fills a 16:9 screen. From three metres all digits have twice the threshold on a screen of 13.3
inches, and the scaled least on one of 15.6; those of a window have the comfortable height there. What is not
reached is held here too, with the distance from which it would be.
"""

from math import atan, degrees, hypot, radians, tan

import pytest

from tests.published.letter_heights import ROWS, SIZES
from tests.tables import every

DISTANCE_M = 3
THRESHOLD, TWICE, THRICE, LEAST, COMFORTABLE = 20, 40, 60, 64, 88  # minutes of arc for 20/80 sight
SCREENS = {inches: inches * 25.4 * 9 / hypot(16, 9) for inches in (13.3, 15.6, 24)}  # mm high

CASES = [
    pytest.param(*key, size, given, id=f"{'-'.join(key)}-{size[0]}x{size[1]}")
    for key, all_given in ROWS.items()
    for size, given in zip(SIZES, all_given, strict=True)
]


def letter_height_mm(distance_m, minutes):
    return 2 * distance_m * 1000 * tan(radians(minutes / 60) / 2)


def minutes_of_arc(height_mm, distance_m=DISTANCE_M):
    return 60 * degrees(2 * atan(height_mm / 2 / (distance_m * 1000)))


def reach_m(height_mm, minutes):
    """The distance (m) up to which a letter has so many minutes of arc."""
    return height_mm / (2 * tan(radians(minutes / 60) / 2)) / 1000


def height_mm(given, rows, inches):
    return given * SCREENS[inches] / rows


@every(
    ("distance_m", "minutes", "expected"),
    [
        (0.6, 16, 2.79),
        (1, 22, 6.40),
        (2, 20, 11.64),
        (3, 16, 13.96),
        (3, 20, 17.45),
        (3, 40, 34.91),
        (3, 60, 52.36),
        (3, 64, 55.85),
        (3, 88, 76.80),
    ],
)
def test_letter_height_from_visual_angle(distance_m, minutes, expected):
    assert letter_height_mm(distance_m, minutes) == pytest.approx(expected, abs=0.01)
    assert minutes_of_arc(expected, distance_m) == pytest.approx(minutes, rel=2e-3)
    assert reach_m(expected, minutes) == pytest.approx(distance_m, rel=2e-3)


def test_the_screen_is_as_high_as_its_diagonal_says():
    assert pytest.approx(194.3, abs=0.1) == SCREENS[15.6]


@every(("layout", "moment", "size", "given"), CASES)
def test_from_three_metres_digits_have_the_scaled_least_on_a_usual_screen(layout, moment, size, given):
    reached = minutes_of_arc(height_mm(given, size[1], 15.6))
    assert reached >= (COMFORTABLE if moment.startswith("working") else LEAST)


@every(("layout", "moment", "size", "given"), CASES)
def test_from_three_metres_digits_have_twofold_reserve_on_a_small_screen(layout, moment, size, given):
    reached = minutes_of_arc(height_mm(given, size[1], 13.3))
    assert reached >= TWICE
    if layout == "far":
        assert reached >= LEAST


SHORT = [
    # layout, moment, size, screen in inches, minutes of arc wanted, m from which they are there
    ("session", "rest", (80, 24), 13.3, THRICE, 2.76),
    ("session", "rest", (120, 40), 15.6, COMFORTABLE, 2.46),
    ("session", "out", (120, 40), 15.6, COMFORTABLE, 2.46),
    ("far", "out", (80, 24), 15.6, COMFORTABLE, 2.84),
    ("far", "out", (120, 40), 15.6, COMFORTABLE, 2.84),
    ("far", "rest", (120, 40), 15.6, COMFORTABLE, 2.65),
]


@every(("layout", "moment", "size", "inches", "wanted", "within_m"), SHORT)
def test_what_is_not_reached_from_three_metres_is_from_nearer(layout, moment, size, inches, wanted, within_m):
    given = ROWS[layout, moment][SIZES.index(size)]
    height = height_mm(given, size[1], inches)
    assert minutes_of_arc(height) < wanted
    assert reach_m(height, wanted) == pytest.approx(within_m, abs=0.01)


def test_nothing_else_falls_short_of_threefold_reserve():
    short = {
        (*key, size, inches)
        for key, all_given in ROWS.items()
        for size, given in zip(SIZES, all_given, strict=True)
        for inches in SCREENS
        if minutes_of_arc(height_mm(given, size[1], inches)) < THRICE
    }
    assert short == {(*each[:4],) for each in SHORT if each[4] == THRICE}
