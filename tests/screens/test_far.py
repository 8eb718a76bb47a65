"""The far layout: clock, side and what a tap does, read from three metres in every theme and size."""

from dataclasses import replace
from itertools import product

import pytest

from holdtimer.screens.bitmap import read_blocks
from holdtimer.screens.fit import LEAST_ROWS, Line, lettering
from holdtimer.screens.layout import LEAST_DIGITS, View, arrange, from_afar
from holdtimer.screens.painted import tap_bar
from holdtimer.screens.ruler import RulerData
from holdtimer.screens.themes import THEMES
from tests.published.letter_heights import ROWS, SIZES
from tests.tables import every

MOMENTS = ("ready", "count_in", "working", "failed", "out", "rest")
OTHERS = ("easy", "way_back", "dropped", "unheard", "menu_out", "rest_over", "asks")

RULER = RulerData(90, (60, 90), 30, 42)
WORK = View("work", "Heel raise", ("48 s to the end",), digits="42", beside=("left",), beside_at="left",
            lines=(Line("You slide.", "Failure"),), ruler=RULER, tap="I have failed")  # fmt: skip
OUT = View("out", "Wall sit", digits="70", beside=("keep pushing", "for 3 s"), ruler=RULER,
           headline="Hands on the chair seat, stand up.", lines=(Line("Slide", "Back in"),),
           tap="I am back in")  # fmt: skip
REST = View("rest", "Rest", digits="44", beside=("rest",), headline="One-leg heel raise, right",
            lines=(Line("toes help", "Rung"), Line("Face the counter", "Set up")), tap="ready")  # fmt: skip
COUNT_IN = View("count-in", "Heel raise", digits="7", beside=("get ready", "left"), headline="Heel raise",
                lines=(Line("Face the counter", "Set up"),), tap="not ready")  # fmt: skip
READY = View("ready", "Chair", headline="Stairs", tap="ready",
             lines=(Line("a chair, water", "Needed"), Line("Sit", "First set")))  # fmt: skip
ASKS = View("asks", "No failure", headline="Worked to the end?", tap="I worked to the end")
VIEWS = tuple(map(from_afar, (WORK, OUT, REST, COUNT_IN, READY, ASKS)))


def named(size):
    return f"{size[0]}x{size[1]}"


async def brought(pilot):
    await pilot.app.arrange(pilot)
    return pilot.app


@pytest.mark.parametrize("moment", MOMENTS)
async def test_each_moment_looks_as_it_was_kept_in_every_size_and_theme(
    moment, demo, screen_picture, kept, sized, digits_as_high_as_listed
):
    async with demo(f"far.{moment}").run_test(size=SIZES[0]) as pilot:
        app = await brought(pilot)
        for theme in THEMES:  # the outer loop, as colours take the longest to change
            app.theme = theme.name
            for size in SIZES:
                name = await sized(pilot, size)
                assert screen_picture(app) == kept(name=f"{theme.name}-{name}")
                assert digits_as_high_as_listed(app, "far", moment), name


def test_each_moment_with_a_listed_height_is_looked_at():
    assert {moment for layout, moment in ROWS if layout == "far"} <= set(MOMENTS)


@pytest.mark.parametrize("moment", OTHERS)
async def test_the_moments_between_look_as_they_were_kept(moment, demo, screen_picture, kept):
    async with demo(f"far.{moment}").run_test(size=SIZES[0]) as pilot:
        assert screen_picture(await brought(pilot)) == kept(name=moment)


@every("columns", [20, 33, 60, 80, 120, 200, 300])
@every("shown", VIEWS, ids=lambda shown: shown.state)
def test_nothing_is_ever_pushed_off_the_screen(shown, columns):
    for rows, alarm, said in product(range(6, 91), ("", "too soon: not a tap"), ((), ("no sound",))):
        got = arrange(replace(shown, alarm=alarm, notices=said), columns, rows, is_far=True)
        assert got.rows <= rows
        assert got.tap >= 1
        assert min(got.digits, got.headline, got.lines, got.notice, got.above, got.below) >= 0


def test_of_a_window_nothing_stays_but_clock_side_and_tap():
    far = from_afar(WORK)
    assert (far.digits, far.beside, far.tap) == ("42", ("left",), "I have failed")
    assert (far.heading, far.places, far.headline, far.lines, far.ruler) == ("", (), "", (), None)


def test_after_a_failure_the_way_out_stays():
    assert from_afar(OUT).headline == OUT.headline


@every("columns", [80, 100, 120, 200])
@every("is_far", [False, True])
def test_at_a_question_the_no_is_as_large_as_the_yes_and_right_below_it(is_far, columns):
    asks = replace(ASKS, tap="I worked to the end", tap_counts=True, no="I did not")
    asks = from_afar(asks) if is_far else asks
    for rows in range(24, 66):
        bar = arrange(asks, columns, rows, is_far=is_far).tap
        drawn = tap_bar(columns - 2, bar, asks.tap, True, asks.no)
        yes, no = drawn[: bar // 2], drawn[-(bar // 2) :]
        letters = [sum(bool(row[16:].strip()) for row in each) for each in (yes, no)]
        assert len(drawn) == bar
        assert letters[0] == letters[1] >= LEAST_ROWS


def test_at_ready_what_must_be_at_hand_stays():
    kept = [line.label for line in from_afar(READY).lines]
    assert kept == [line.label for line in READY.lines if line.label in ("Needed", "First set")]
    assert kept[0] == "Needed"


@every("columns", [80, 100, 120, 200, 300])
@every("is_far", [False, True])
def test_after_a_failure_the_way_out_is_larger_than_all_but_the_digits(is_far, columns):
    shown = from_afar(OUT) if is_far else OUT
    for rows in range(26, 91):
        got = arrange(shown, columns, rows, is_far=is_far)
        drawn = lettering(OUT.headline, columns - 2, got.headline)
        way_out = line_height(drawn)
        assert len(drawn) == got.headline
        assert 2 * got.digits > way_out
        assert 2 * got.beside <= way_out
        assert line_height([row[-20:] for row in tap_bar(columns - 2, got.tap, OUT.tap)]) < way_out


def line_height(drawn):
    """The height of the first line of large letters, in half rows."""
    inked = [bool(row) for row in read_blocks(drawn).rows]
    begin = inked.index(True)
    return (inked.index(False, begin) if False in inked[begin:] else len(inked)) - begin


@every("alarm", ["too soon: not back in", "keys don't reach me"])
@every("size", SIZES, ids=named)
def test_an_alarm_can_be_read_from_afar_and_takes_nothing_from_the_digits_and_the_way_out(size, alarm):
    quiet = arrange(from_afar(OUT), *size, is_far=True)
    loud = arrange(from_afar(replace(OUT, alarm=alarm)), *size, is_far=True)
    assert loud.notice >= 4
    assert loud.digits == quiet.digits >= LEAST_DIGITS
    assert len(lettering(OUT.headline, size[0] - 2, loud.headline)) >= 3


@pytest.mark.parametrize("size", SIZES, ids=named)
def test_a_tap_stands_in_letters_no_smaller_than_in_the_full_layout(size):
    for shown in (WORK, REST, COUNT_IN, READY):
        assert arrange(from_afar(shown), *size, is_far=True).tap >= arrange(shown, *size).tap
