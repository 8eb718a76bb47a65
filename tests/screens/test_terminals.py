"""Terminals that show less: no colours, 16 of them, and the few signs of the Linux console."""

import os
import subprocess
import sys

import pytest

from holdtimer.screens.themes import DAYLIGHT, THEMES, FewGlyphs

SIZE = (80, 24)
FEW_COLOURS = {"NO_COLOR": "1"}, {"TERM": "xterm"}, {"TERM": "vt100"}, {"TERM": "linux"}
IN_WORK, OUT_OF_WORK = (
    ("working", "final_stretch", "back_in"),
    ("ready", "count_in", "failed", "rest", "asks"),
)


@pytest.fixture(params=FEW_COLOURS, ids=lambda given: "-".join(given.values()))
def few_colours(request, monkeypatch):
    for name, value in request.param.items():
        monkeypatch.setenv(name, value)


async def cells(app, pilot, segments):
    """Every cell of the screen as its character and style."""
    await app.arrange(pilot)
    return [
        (character, segment.style) for line in segments(app) for segment in line for character in segment.text
    ]


def filled(shown):
    """The share of the screen that is light: reversed blanks, and full blocks that are not reversed."""
    light = [bool(style.reverse) != (character == "█") for character, style in shown]
    return sum(light) / len(light)


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
@pytest.mark.usefixtures("few_colours")
async def test_without_colours_work_is_told_from_the_rest_by_reverse_video(theme, demo, segments):
    shares = {}
    for moment in (*IN_WORK, *OUT_OF_WORK):
        app = demo(f"session.{moment}")
        app.theme = theme.name
        async with app.run_test(size=SIZE) as pilot:
            shown = await cells(app, pilot, segments)
        assert all(style.color is None and style.bgcolor is None for _, style in shown)
        shares[moment] = filled(shown) if theme is not DAYLIGHT else 1 - filled(shown)
    assert min(shares[moment] for moment in IN_WORK) > 0.5
    assert max(shares[moment] for moment in OUT_OF_WORK) < 0.45


@pytest.mark.usefixtures("few_colours")
async def test_without_colours_an_alarm_stands_out_from_its_field(demo, segments):
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


async def test_without_colours_a_window_looks_as_it_was_kept(demo, screen_picture, kept, monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    for moment in ("working", "failed"):
        app = demo(f"session.{moment}")
        async with app.run_test(size=SIZE) as pilot:
            await app.arrange(pilot)
            assert screen_picture(app) == kept(name=f"{moment}-no-colour")


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
