"""The share of each piece at any size of terminal."""

from dataclasses import replace
from itertools import pairwise, product

from holdtimer.screens.fit import Line, lettering, set_lines
from holdtimer.screens.layout import LEAST_DIGITS, View, arrange
from holdtimer.screens.ruler import RulerData
from tests.tables import every

RULER = RulerData(90, (60, 90), 30, 42)
WORK = View("work", "Wall sit", digits="42", lines=(Line("You slide.", "Failure"), Line("Breathe.", "Form")),
            ruler=RULER)  # fmt: skip
OUT = View("out", "Wall sit", digits="70", beside=("keep pushing", "for 3 s"), ruler=RULER,
           headline="Hands on the chair seat, stand up.", lines=(Line("Slide", "Back in"),))  # fmt: skip
REST = View("rest", "Rest", digits="44", beside=("rest",), headline="One-leg heel raise, right",
            lines=(Line("toes help", "Rung"), Line("Face the counter", "Set up")))  # fmt: skip
COUNT_IN = View("count-in", "Heel raise", digits="7", beside=("get ready", "left"), headline="Heel raise",
                lines=(Line("Face the counter", "Set up"),))  # fmt: skip
READY = View("ready", "Chair", headline="Stairs", lines=(Line("a chair, water", "Needed"),))
VIEWS = (WORK, OUT, REST, COUNT_IN, READY)


@every("columns", [20, 33, 60, 80, 120, 200])
@every("shown", VIEWS, ids=lambda shown: shown.state)
def test_nothing_is_ever_pushed_off_the_screen(shown, columns):
    alarms, notices = ("", "too soon: not a tap"), ((), ("no sound",))
    for rows, alarm, said in product(range(6, 80), alarms, notices):
        got = arrange(replace(shown, alarm=alarm, notices=said), columns, rows)
        assert got.rows <= rows
        assert got.tap >= 1
        assert min(got.digits, got.ruler, got.headline, got.lines, got.notice) >= 0


@every("shown", [WORK, OUT], ids=["work", "out"])
@every("size", [(80, 24), (120, 40), (200, 60)], ids=str)
def test_a_notice_in_a_window_leaves_the_digits_their_size(shown, size):
    quiet = arrange(shown, *size)
    for change in ({"alarm": "too soon: not a tap"}, {"notices": ("noted, not yet saved",)}):
        assert arrange(replace(shown, **change), *size).digits == quiet.digits


def test_in_work_at_the_usual_size_the_digits_are_thirteen_rows_high():
    assert arrange(WORK, 80, 24).digits >= 13


@every("covered", [0, 10], ids=["plain", "menu"])
@every("shown", [WORK, OUT], ids=["work", "out"])
def test_digits_of_a_window_stay_readable_under_a_menu_too(shown, covered):
    assert arrange(shown, 80, 24, covered).digits >= LEAST_DIGITS


@every("words", [
    "Hands on the chair seat, stand up.", "Elbows under the shoulders, lift again.", "Feet flat and rest.",
    "Take the handle, lift it just off again.",
])  # fmt: skip
@every("size", [(80, 24), (120, 40), (200, 60)], ids=str)
def test_the_way_out_comes_in_large_letters_and_nothing_beside_it_is_larger(words, size):
    got = arrange(replace(OUT, headline=words), *size)
    drawn = lettering(words, size[0] - 2, got.headline)
    assert len(drawn) >= 3
    assert got.beside <= next((at for at, row in enumerate(drawn) if not row.strip()), len(drawn))


def test_smaller_lines_give_way_before_the_ruler_and_that_before_the_digits():
    shares = [arrange(WORK, 80, rows) for rows in range(24, 9, -1)]
    assert any(share.lines == 0 and share.ruler > 0 for share in shares)
    assert all(share.digits >= LEAST_DIGITS for share in shares if share.ruler or share.lines)
    assert all(fewer.digits <= more.digits for more, fewer in pairwise(shares))
    assert shares[-1].digits >= 5


def test_a_count_in_is_framed_and_a_rest_is_not():
    assert arrange(COUNT_IN, 80, 24).is_framed
    assert not arrange(REST, 80, 24).is_framed


def test_lines_grow_from_the_first_as_far_as_all_others_fit():
    lines = (Line("Back flat", "Set up"), Line("Feet out"))
    assert len(set_lines(80, 2, lines)) == 2
    some = set_lines(80, 6, lines)
    assert not some[0].isascii()
    assert some[-1].endswith("Feet out")
    assert not any(row.isascii() and row.strip() for row in set_lines(80, 7, lines))


def test_the_last_lines_give_way_whole():
    lines = (Line("one"), Line("two " * 30), Line("three"))
    drawn = set_lines(40, 2, lines)
    assert "one" in drawn[0]
    assert not any("two" in row for row in drawn)


def test_of_a_first_line_that_is_too_long_its_beginning_stays():
    assert set_lines(40, 2, (Line("word " * 40, "Needed"),))[0].startswith("Needed")


def test_words_without_a_large_shape_come_in_ordinary_letters():
    assert set_lines(80, 20, (Line("呼吸"),)) == ["呼吸"]
