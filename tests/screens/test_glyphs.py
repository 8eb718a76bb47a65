from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtimer.screens.bitmap import Pen
from holdtimer.screens.fit import digit_glyph, digit_size, digits
from holdtimer.screens.font import DIGITS
from tests.tables import every

FIGURES = "0123456789"
INK = set("▘▝▀▖▌▞▛▗▚▐▜▄▙▟█")


HOLES = {"0": 1, "1": 0, "2": 0, "3": 0, "4": 1, "5": 0, "6": 1, "7": 0, "8": 2, "9": 1}


def sizes():
    """Narrow, middling and wide digits of every height up to 20 rows and some up to 60."""
    found = {
        digit_size("00", int(rows * share) + 1, rows)
        for rows in [*range(3, 21), 26, 34, 42, 60]
        for share in (2.4, 3, 4)
    }
    return sorted(found - {None}, key=lambda size: (size.height, size.digit))


@cache
def glyphs(look):
    """The ten figures of each size."""
    return {size: {figure: digit_glyph(figure, size, look) for figure in FIGURES} for size in sizes()}


@every("look", ["solid", "hollow"])
def test_every_digit_is_unlike_the_others_at_every_size(look):
    for size, drawn in glyphs(look).items():
        assert len(set(map(tuple, drawn.values()))) == 10, size


@every("look", ["solid", "hollow"])
def test_no_digit_is_cut_off(look):
    for size, drawn in glyphs(look).items():
        for figure, glyph in drawn.items():
            assert len(glyph) == size.rows
            assert {len(row) for row in glyph} == {size.columns(figure)}
            assert INK & set(glyph[0])
            assert INK & set(glyph[-1])
            assert any(row[0] != " " for row in glyph) or figure in "1"
            assert any(row[-1] != " " for row in glyph) or figure == "1"


@every("figure", FIGURES)
def test_counters_stay_open_and_ends_apart(figure, holes):
    for size in sizes():
        if size.rows > 3:
            shape = DIGITS[figure](Pen(size.digit, size.height, size.stem, size.bar)).within(size.digit)
            assert holes(shape) == HOLES[figure], size


def test_hollow_differs_from_solid_wherever_the_stroke_has_an_inside():
    for size in sizes():
        if size.bar > 2:
            assert digit_glyph("4", size, "hollow") != digit_glyph("4", size, "solid")


@given(st.text("0123456789: ", min_size=1, max_size=5), st.integers(1, 220), st.integers(1, 70))
def test_digits_never_leave_their_box(text, columns, rows):
    drawn = digits(text, columns, rows)
    if drawn != [text]:
        assert len(drawn) <= rows
        assert {len(row) for row in drawn} == {digit_size(text, columns, rows).width(text)}
        assert len(drawn[0]) <= columns


@given(st.integers(8, 200), st.integers(3, 60))
def test_digits_are_neither_squat_nor_thin(columns, rows):
    size = digit_size("00", columns, rows)
    if size:
        assert 0.47 <= size.digit / 2 / size.height <= 0.75


@given(st.integers(8, 200), st.integers(3, 60))
def test_more_room_never_makes_digits_smaller(columns, rows):
    size, larger = digit_size("00", columns, rows), digit_size("00", columns + 1, rows + 1)
    assert size is None or larger.height >= size.height


@every(("text", "least"), [("69", 13), ("1:40", 13), ("9:59", 13)])
def test_a_common_terminal_has_digits_of_thirteen_rows_when_it_gives_them_thirteen(text, least):
    assert len(digits(text, 78, 13)) == least


def test_a_digit_keeps_its_size_whatever_the_others_are():
    assert digit_size("11", 78, 13) == digit_size("88", 78, 13) == digit_size(" 8", 78, 13)


def test_text_without_a_large_glyph_is_refused():
    with pytest.raises(ValueError, match="no large glyph"):
        digits("12kg", 80, 10)
