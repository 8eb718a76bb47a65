"""Terminals that show less: no colours, 16 of them, and the few signs of the Linux console."""

import os
import subprocess
import sys

import pytest
from rich.cells import cell_len
from textual.scrollbar import ScrollBarRender

from holdtimer.report.pages import PageText
from holdtimer.screens.app import HoldtimerApp
from holdtimer.screens.page import ChoicePage, Page
from holdtimer.screens.themes import THEMES, FewGlyphs
from holdtimer.text import CONTROLS

SIZE = (80, 24)
IN_WORK = ("working", "final_stretch", "back_in")
OUT_OF_WORK = ("ready", "count_in", "failed", "rest", "asks")
TERMINALS = {"NO_COLOR": "1"}, {"TERM": "xterm"}, {"TERM": "vt100"}, {"TERM": "linux"}


async def cells(app, pilot, segments):
    """Every cell of the screen as its character and style."""
    await app.arrange(pilot)
    return [
        (character, segment.style) for line in segments(app) for segment in line for character in segment.text
    ]


@pytest.mark.parametrize("moment", [*IN_WORK, *OUT_OF_WORK])
async def test_who_wants_no_colours_tells_work_from_the_rest_by_reverse_video(
    moment, demo, few_colours, screen_picture, kept, monkeypatch
):
    monkeypatch.setenv("NO_COLOR", "1")
    app = demo(f"session.{moment}")
    async with app.run_test(size=SIZE) as pilot:
        await app.arrange(pilot)
        if moment in ("working", "failed"):
            assert screen_picture(app) == kept
        for theme in THEMES:
            app.theme = theme.name
            await pilot.pause()
            few_colours.check_shown(app, moment, theme)


@pytest.mark.parametrize("given", TERMINALS, ids=lambda given: "-".join(given.values()))
async def test_without_colours_an_alarm_stands_out_from_its_field(given, demo, segments, monkeypatch):
    for name, value in given.items():
        monkeypatch.setenv(name, value)
    async with demo("session.unheard").run_test(size=SIZE) as pilot:
        shown = await cells(pilot.app, pilot, segments)
    rows = [shown[at : at + SIZE[0]] for at in range(0, len(shown), SIZE[0])]
    plain = [all(not style.reverse for _, style in row[1:-1]) for row in rows]
    assert sum(plain) == 4
    assert not plain[0]


async def test_where_there_are_many_colours_they_stay(demo, segments):
    app = demo("session.working")
    async with app.run_test(size=SIZE) as pilot:
        shown = await cells(app, pilot, segments)
    assert all(style.bgcolor is not None for _, style in shown)


# -- the Linux console

DRAWN = """
from holdtimer.screens.fit import digits, lettering
from holdtimer.screens.painted import tap_bar
for rows in range(6, 40):
    for digit in "0123456789":
        print("\\n".join(digits(digit, 200, rows, "hollow")), end="\\f")
    print(end="\\v")
for rows in range(1, 12):
    print("\\n".join(lettering("Hands on the chair, stand up.", 300, rows)))
    print("\\n".join(tap_bar(200, rows, "I have failed")))
"""


@pytest.fixture(scope="module")
def drawn_on_a_console():
    done = subprocess.run(
        [sys.executable, "-c", DRAWN], env={**os.environ, "TERM": "linux"}, capture_output=True, check=True
    )
    return done.stdout.decode()


def test_on_the_linux_console_every_digit_is_its_own_in_every_size(drawn_on_a_console):
    sizes = drawn_on_a_console.split("\v")[:-1]
    assert len(sizes) == 34
    for size in sizes:
        digits = size.split("\f")[:-1]
        assert len(set(digits)) == len(digits) == 10


def test_the_linux_console_needs_whole_blocks_only(drawn_on_a_console):
    shown = drawn_on_a_console.translate(FewGlyphs.INSTEAD)
    assert {sign for sign in shown if ord(sign) > 126} == {"█"}


def test_on_the_linux_console_small_words_come_in_ordinary_letters(drawn_on_a_console):
    words = drawn_on_a_console.split("\v")[-1]
    assert words.count("I have failed") == 5
    assert "Hands on the chair, stand up." in words


def test_each_sign_has_one_of_the_same_width_in_its_place():
    assert all(len(chr(sign)) == 1 for sign in FewGlyphs.INSTEAD.values())


def test_nothing_on_screen_is_animated_whatever_the_machine_asks_for(demo, monkeypatch):
    monkeypatch.setattr("textual.constants.TEXTUAL_ANIMATIONS", "full")
    app = demo("session.working")
    assert app.animation_level == "none"


def test_wherever_a_scroll_bar_stands_the_linux_console_can_show_it():
    shown = "".join(ScrollBarRender.VERTICAL_BARS).translate(FewGlyphs.INSTEAD)
    assert set(shown) <= set(" _=█")


# -- text of strangers


async def test_no_page_lets_through_what_steers_a_terminal(segments):
    hostile = "\x1b]0;x\x07\x1b[31m\x9b2J\u202e\u061c\xad\U000e0041red"
    shown = PageText(hostile, (hostile, f"  {hostile}"), hostile, (("y", hostile),))
    for page in (Page(shown), ChoicePage(hostile, [hostile, "x"], about=[hostile, ""])):

        async def story(app, page=page):
            await app.push_screen_wait(page)
            return 0

        async with HoldtimerApp(story).run_test(size=SIZE) as pilot:
            await pilot.pause()
            await pilot.pause()
            rows = ["".join(each.text for each in line) for line in segments(pilot.app)]
        assert "red" in "".join(rows)
        assert not CONTROLS.search("".join(rows))
        assert {cell_len(row) for row in rows} == {SIZE[0]}
